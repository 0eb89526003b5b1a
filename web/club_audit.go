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

	KeptYears  int
	SourceDays int
	End        store.AuditEnd
	Found      text.Text // what came of going through all of it; none when nobody asked
	Whole      bool
}

type auditLine struct {
	Number  int64
	At, ISO string
	Who     string
	Source  string
	Action  string
	Subject string
}

func (s *Server) audit(w http.ResponseWriter, r *http.Request, who *visitor) error {
	before, check := parseID(r.URL.Query().Get("before")), r.URL.Query().Has("check")
	v := auditView{First: before == 0, KeptYears: store.AuditKeptYears, SourceDays: store.SignInsKept}
	var club *scheduler.Club
	var trail []store.AuditEntry
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Apiaries(r.Context()); err == nil {
			trail, err = tx.AuditTrail(r.Context(), who.MemberID, before, auditLines+1)
		}
		if err == nil {
			v.End, err = tx.AuditEnd(r.Context())
		}
		if err == nil && check {
			var found store.AuditFinding
			found, err = tx.VerifyAudit(r.Context())
			v.Found, v.Whole = found.Text(), found.Fault == ""
		}
		return err
	})
	if err != nil {
		return err
	}
	say, names := speaker(club, who.MemberID), scheduler.NewNames(club)
	for i, e := range trail {
		if i == auditLines {
			v.Older = trail[i-1].Number
			break
		}
		by := say.Say("page.audit.program")
		switch {
		case e.MemberID != 0:
			by = cmp.Or(names.Member(e.MemberID), say.Say("page.members.former"))
		case e.Command != "":
			by = say.Say("page.audit.command-line", e.Command)
		}
		at := e.At.UTC()
		v.Lines = append(v.Lines, auditLine{
			Number: e.Number, Source: e.Source, At: say.Say("page.audit.at", stampDay(say, at), at.Format("15:04")), ISO: at.Format("2006-01-02T15:04:05Z"),
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

// aboutText says what it was done to: in the words that were kept for every
// language, or as it was written down.
func aboutText(e *store.AuditEntry) text.Text {
	var kept store.About
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
	return tx.Note(ctx, who.MemberID, action, subject)
}

// noteOn adds a line to the trail about something that has a name.
func (who *visitor) noteOn(r *http.Request, tx *store.Tx, action, name string) error {
	return tx.Audit(r.Context(), store.AuditEntry{MemberID: who.MemberID, Action: action, Subject: name})
}
