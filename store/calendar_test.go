package store

import (
	"context"
	"math"
	"testing"

	"pryday/scheduler"
)

// TestCalendar holds what a calendar page reads against what Visits does: the
// visits of the days alone, those called off too, and not those that planning
// took out; none of another club.
func TestCalendar(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	s := open(t)
	club := importSample(t, s)
	other := importSample(t, s)
	inClub(t, s, club, func(tx *Tx) error {
		visits, err := tx.Visits(ctx, VisitFilter{OpenOnly: true})
		if err != nil {
			return err
		}
		first := visits[0]
		if _, err := tx.CallOffVisit(ctx, first.ID, first.Sequence, today+30, today); err != nil {
			return err
		}
		if err := tx.putVisit(ctx, nil, scheduler.Visit{UID: "dropped", ApiaryID: first.ApiaryID, On: first.On, Status: scheduler.Cancelled}); err != nil {
			return err
		}
		if err := tx.putVisit(ctx, nil, scheduler.Visit{UID: "made", ApiaryID: first.ApiaryID, On: today - 40, Status: scheduler.Done, Who: first.Who, Taken: first.Who}); err != nil {
			return err
		}
		from, until := today-40, today+100
		all, err := tx.Visits(ctx, VisitFilter{From: from, Until: until})
		if err != nil {
			return err
		}
		got, err := tx.Calendar(ctx, from, until)
		if err != nil {
			return err
		}
		n, states := 0, map[scheduler.VisitStatus]bool{}
		for _, v := range all {
			if v.UID == "dropped" || v.Status == scheduler.Cancelled && v.OffUntil == 0 {
				continue
			}
			if n == len(got.Visits) {
				t.Fatalf("%s of %s is missing", v.UID, v.On)
			}
			c := got.Visits[n]
			n++
			states[c.Status] = true
			if c.UID != v.UID || c.On != v.On || c.ApiaryID != v.ApiaryID || c.Status != v.Status || c.NoTime != v.NoTime || !sameWork(c.Work, v.Expected()) ||
				!equalJSON(c.Who, v.Who) || !equalJSON(c.Taken, v.Taken) {
				t.Errorf("read %+v, want %+v", c, v)
			}
		}
		if n != len(got.Visits) || !states[scheduler.Cancelled] || !states[scheduler.Done] || !states[scheduler.Confirmed] {
			t.Errorf("%d visits, want %d, in states %v", len(got.Visits), n, states)
		}
		if edge, err := tx.Calendar(ctx, from+1, from+1); err != nil || len(edge.Visits) != 0 || len(edge.Club.Apiaries) != 2 {
			t.Errorf("%v: the day after has %d visits", err, len(edge.Visits))
		}
		if edge, err := tx.Calendar(ctx, from, from); err != nil || len(edge.Visits) != 1 {
			t.Errorf("%v: the day itself has %d visits", err, len(edge.Visits))
		}
		return nil
	})
	inClub(t, s, other, func(tx *Tx) error {
		got, err := tx.Calendar(ctx, today-40, today-40)
		if err == nil && len(got.Visits) != 0 {
			t.Errorf("another club reads %+v", got.Visits)
		}
		return err
	})
}

// sameWork allows for odds that were added up in another order.
func sameWork(a, b scheduler.Work) bool {
	const slip = 1e-9
	return a.Openings == b.Openings && math.Abs(a.Hard-b.Hard) < slip && math.Abs(a.Stuck-b.Stuck) < slip
}
