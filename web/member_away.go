package web

import (
	"fmt"
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/store"
)

// changeAway adds a span of days on which the member goes nowhere, or takes
// one out, and plans the apiaries that the member looks after anew.
func (s *Server) changeAway(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	club, m, err := s.ownRecord(r, who)
	if err != nil {
		return err
	}
	said := notice{}
	if m.NoGo, said.Text, err = changePeriods(f, m.NoGo, "away"); err != nil {
		return err
	}
	today := club.TodayOf(m, s.now())
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) error {
		said.Lines = nil
		if err := tx.UpdateMember(r.Context(), *m); err != nil {
			return err
		}
		for i := range club.Apiaries {
			a := &club.Apiaries[i]
			if !slices.Contains(a.Keepers, m.ID) {
				continue
			}
			made, err := tx.Replan(r.Context(), a.ID, a.Today(s.now()))
			if err != nil {
				return err
			}
			p := apiaryRecords{say: speaker(club, m.ID), names: scheduler.NewNames(club), today: today}
			said.Lines = append(said.Lines, p.consequences(made, 0)...)
			tx.Knows(m.ID, scheduler.Visit{}, made, today)
		}
		return nil
	})
	if err != nil {
		return err
	}
	return s.done(w, r, "/preferences#away", said)
}

// maxPeriods is how many spans of days one record may carry.
const maxPeriods = 50

// changePeriods adds the span of a form, or takes out the one it names.
func changePeriods(f *form, had []scheduler.Period, what string) ([]scheduler.Period, string, error) {
	if f.has("remove") {
		n := f.whole("remove", 0, maxPeriods)
		if n >= len(had) || had[n].From.String() != f.values.Get("from") {
			return nil, "", newProblem(http.StatusConflict, "problem.days-changed")
		}
		return slices.Delete(slices.Clone(had), n, n+1), "Taken out.", nil
	}
	p := scheduler.Period{From: f.date("from"), Until: f.date("until"), Reason: f.text("reason", 200)}
	if p.From == 0 {
		f.bad("from", "form.first-day")
	}
	if p.Until != 0 && p.Until < p.From {
		f.bad("until", "form.last-before-first", p.Until.String(), p.From.String())
	}
	if len(had) >= maxPeriods {
		f.bad("from", "form.too-many-periods", maxPeriods)
	}
	for _, field := range []string{"from", "until", "reason"} {
		if wrong := f.Problems[field]; !wrong.IsZero() {
			return nil, "", newProblem(http.StatusUnprocessableEntity, "problem.not-saved", wrong)
		}
	}
	return append(slices.Clone(had), p), fmt.Sprintf("Added: %s from %s.", what, p.From.Format("2 Jan 2006")), nil
}
