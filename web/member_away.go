package web

import (
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
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
	days, changed, err := changePeriods(f, m.NoGo, "page.span.added-away")
	if err != nil {
		return err
	}
	say := speaker(club, m.ID)
	said.Undo = putBack(say, f, m.NoGo, r.URL.Path)
	m.NoGo, said.Text = days, say.Tell(changed)
	today := club.TodayOf(m, s.now())
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if err := tx.UpdateMember(r.Context(), *m); err != nil {
			return err
		}
		said.Lines, err = s.replanOf(r, tx, club, m, today)
		return err
	})
	if err != nil {
		return err
	}
	return s.done(w, r, "/preferences#away", said)
}

// replanOf plans the apiaries that a member looks after anew, since the member
// can go on other days, and says what that changes.
func (s *Server) replanOf(r *http.Request, tx *store.Tx, club *scheduler.Club, m *scheduler.Member, today scheduler.Date) (lines []string, err error) {
	for i := range club.Apiaries {
		a := &club.Apiaries[i]
		if !slices.Contains(a.Keepers, m.ID) {
			continue
		}
		made, err := tx.Replan(r.Context(), a.ID, a.Today(s.now()))
		if err != nil {
			return nil, err
		}
		p := apiaryRecords{say: speaker(club, m.ID), names: scheduler.NewNames(club), today: today}
		lines = append(lines, p.consequences(made, 0)...)
		tx.Knows(m.ID, scheduler.Visit{}, made, today)
	}
	return lines, nil
}

// maxPeriods is how many spans of days one record may carry.
const maxPeriods = 50

// changePeriods adds the span of a form, or takes out the one it names. What is
// said of an added one is the text of a key, with its days behind args.
func changePeriods(f *form, had []scheduler.Period, key string, args ...any) ([]scheduler.Period, text.Text, error) {
	if f.has("remove") {
		n := f.whole("remove", 0, maxPeriods)
		if n >= len(had) || had[n].From.String() != f.values.Get("from") {
			return nil, text.Text{}, newProblem(http.StatusConflict, "problem.days-changed")
		}
		return slices.Delete(slices.Clone(had), n, n+1), text.New("page.span.out"), nil
	}
	p := scheduler.Period{From: f.date("from"), Until: f.date("until"), Reason: f.text("reason", 200)}
	if after := scheduler.Fate(f.values.Get("after")); slices.Contains(scheduler.Fates, after) {
		p.After = after // of days that were taken out, and come back
	}
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
			return nil, text.Text{}, newProblem(http.StatusUnprocessableEntity, "problem.not-saved", wrong)
		}
	}
	return append(slices.Clone(had), p), text.New(key, append(args, spanOf(p))...), nil
}

// spanOf says on which days a span lies, within a sentence.
func spanOf(p scheduler.Period) text.Text {
	switch p.Until {
	case 0:
		return text.New("page.span.from", p.From)
	case p.From:
		return text.New("page.span.on", p.From)
	}
	return text.New("page.span.during", p.From, p.Until)
}

// putBack is how to take back that changePeriods took out a span, with the form of
// an address; nil where it added one.
func putBack(say *text.Speaker, f *form, had []scheduler.Period, action string) *undo {
	if !f.has("remove") {
		return nil
	}
	out := had[f.whole("remove", 0, maxPeriods)]
	return &undo{Label: say.Say("page.visit.said.take-back"), Action: action, Fields: [][2]string{
		{"from", out.From.String()}, {"until", out.Until.String()}, {"reason", out.Reason}, {"after", string(out.After)},
	}}
}
