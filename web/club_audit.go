package web

import (
	"cmp"
	"context"
	"encoding/json"
	"net/http"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// auditLines is how many lines of the trail stand on a page.
const auditLines = 100

type auditView struct {
	Lines []auditLine
	Older int64 // id before which the next page goes on; 0 for none
	First bool

	KeptYears int
}

type auditLine struct {
	At, ISO string
	Who     string
	Action  string
	Subject string
}

func (s *Server) audit(w http.ResponseWriter, r *http.Request, who *visitor) error {
	before := parseID(r.URL.Query().Get("before"))
	var club *scheduler.Club
	var trail []store.AuditEntry
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Apiaries(r.Context()); err == nil {
			trail, err = tx.AuditTrail(r.Context(), before, auditLines+1)
		}
		return err
	})
	if err != nil {
		return err
	}
	say, names := speaker(club, who.MemberID), scheduler.NewNames(club)
	v := auditView{First: before == 0, KeptYears: store.AuditKeptYears}
	for i, e := range trail {
		if i == auditLines {
			v.Older = trail[i-1].ID
			break
		}
		by := say.Say("page.audit.program")
		if e.MemberID != 0 {
			by = cmp.Or(names.Member(e.MemberID), say.Say("page.members.former"))
		}
		at := e.At.UTC()
		v.Lines = append(v.Lines, auditLine{
			At: say.Say("page.audit.at", stampDay(say, at), at.Format("15:04")), ISO: at.Format("2006-01-02T15:04:05Z"),
			Who: by, Action: say.Tell(deedText(e.Action)), Subject: strings.ReplaceAll(say.Tell(aboutText(&e)), store.Former, say.Say("page.members.former")),
		})
	}
	return s.showTo(w, r, who, club, http.StatusOK, "audit", say.Say("page.menu.audit"), v)
}

// deedText says what was done; as it was kept where no language has a word.
func deedText(action string) text.Text {
	if key := "audit." + strings.ReplaceAll(action, " ", "-"); text.Has(key) {
		return text.New(key)
	}
	return text.New("form.said", action)
}

// about is what a line of the trail keeps to say what it was done to.
type about struct {
	About text.Text `json:"about"`
}

// aboutText says what it was done to: in the words that were kept for every
// language, or as it was written down.
func aboutText(e *store.AuditEntry) text.Text {
	var kept about
	if e.Detail != nil && json.Unmarshal(e.Detail, &kept) == nil && text.Has(kept.About.Key) {
		return kept.About
	}
	return text.New("form.said", e.Subject)
}

// note adds a line to the trail, in the transaction of what it tells.
func (who *visitor) note(r *http.Request, tx *store.Tx, action string, subject text.Text) error {
	return who.noteIn(r.Context(), tx, action, subject)
}

func (who *visitor) noteIn(ctx context.Context, tx *store.Tx, action string, subject text.Text) error {
	detail, err := json.Marshal(about{subject})
	if err != nil {
		return err
	}
	return tx.Audit(ctx, store.AuditEntry{
		MemberID: who.MemberID, Action: action, Subject: (&text.Speaker{}).Tell(subject), Detail: detail,
	})
}

// noteOn adds a line to the trail about something that has a name.
func (who *visitor) noteOn(r *http.Request, tx *store.Tx, action, name string) error {
	return tx.Audit(r.Context(), store.AuditEntry{MemberID: who.MemberID, Action: action, Subject: name})
}
