package web

import (
	"cmp"
	"fmt"
	"net/http"

	"pryday/scheduler"
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
	names := scheduler.NewNames(club)
	v := auditView{First: before == 0, KeptYears: store.AuditKeptYears}
	for i, e := range trail {
		if i == auditLines {
			v.Older = trail[i-1].ID
			break
		}
		by := "the program"
		if e.MemberID != 0 {
			by = cmp.Or(names.Member(e.MemberID), "a former member")
		}
		at := e.At.UTC()
		v.Lines = append(v.Lines, auditLine{
			At: at.Format("2 Jan 2006, 15:04"), ISO: at.Format("2006-01-02T15:04:05Z"), Who: by, Action: e.Action, Subject: e.Subject,
		})
	}
	return s.showTo(w, r, who, club, http.StatusOK, "audit", "Who changed what", v)
}

// note adds a line to the trail, in the transaction of what it tells.
func (who *visitor) note(r *http.Request, tx *store.Tx, action, format string, args ...any) error {
	return tx.Audit(r.Context(), store.AuditEntry{MemberID: who.MemberID, Action: action, Subject: fmt.Sprintf(format, args...)})
}
