package store

import (
	"context"
	"testing"

	"pryday/scheduler"
)

// TestSumAt: of what is planned, an apiary is told how many boxes are overdue, since
// when the first of them is, and the worst odds; other apiaries' boxes are not its own.
func TestSumAt(t *testing.T) {
	t.Parallel()
	sum := sumAt(&scheduler.Plan{Boxes: []scheduler.BoxState{
		{ApiaryID: 7, Due: today - 3, Overdue: true, Odds: .3},
		{ApiaryID: 7, Due: today - 8, Overdue: true, Odds: .2},
		{ApiaryID: 7, Due: today - 5, Overdue: true, Odds: .4},
		{ApiaryID: 7, Due: today - 30, Overdue: true, Odds: .1, LeftAlone: scheduler.LeftAlone{Why: scheduler.ClosedHive}},
		{ApiaryID: 7, Due: today + 30, Odds: .6},
		{ApiaryID: 8, Due: today + 30, Odds: .1},
		{ApiaryID: 9, Due: today - 99, Overdue: true, Odds: .9},
	}}, []int64{6, 7, 8})
	type at struct {
		late  int
		since scheduler.Date
		worst float64
	}
	for i, want := range []at{{worst: -1}, {3, today - 8, .6}, {worst: .1}} {
		got := at{sum.late[i], sum.since[i], -1}
		if sum.worst[i] != nil {
			got.worst = *sum.worst[i]
		}
		if got != want {
			t.Errorf("apiary %d: %+v, want %+v", 6+i, got, want)
		}
	}
}

// TestACalendarIsMadeAnewWhereVisitsChange: a night that only adds visits is news to
// the calendar of their apiary, and so is one that only changes them.
func TestACalendarIsMadeAnewWhereVisitsChange(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	for _, night := range []struct {
		name, before string
		news         bool
	}{
		{"all visits are new", `DELETE FROM visit`, true},
		{"nothing changed", ``, false},
		{"the odds of a box are others", `UPDATE visit_box SET odds = odds / 2`, true},
	} {
		inClub(t, s, club, func(tx *Tx) error {
			if night.before != "" {
				if _, err := tx.tx.Exec(ctx, night.before); err != nil {
					return err
				}
			}
			_, err := tx.tx.Exec(ctx, `UPDATE apiary SET planned_on = NULL, planned_rules = NULL`)
			return err
		})
		was := feedVersion(t, s, club)
		if _, _, err := s.ReplanClub(ctx, club, today); err != nil {
			t.Fatal(err)
		}
		if now := feedVersion(t, s, club); (now > was) != night.news {
			t.Errorf("%s: the version goes from %d to %d", night.name, was, now)
		}
	}
}
