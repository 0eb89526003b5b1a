package store

import (
	"context"
	"errors"
	"slices"
	"testing"

	"pryday/scheduler"
)

func TestVisitChanges(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	ansel, brida := c.Members[0].ID, c.Members[1].ID
	first := c.Visits[0]
	read := func() (v *VisitRecord) {
		t.Helper()
		inClub(t, s, club, func(tx *Tx) (err error) { v, err = tx.Visit(ctx, first.ID); return err })
		return v
	}
	start := read()
	if start.Sequence != first.Sequence || start.UID != first.UID || len(start.Boxes) == 0 || !slices.Equal(start.Who, []int64{brida}) {
		t.Fatalf("read %+v, want %+v", start.Visit, first)
	}
	steps := []struct {
		name string
		do   func(*Tx, *VisitRecord) error
		ok   func(v *VisitRecord) bool
	}{
		{"put it off, not being expected", func(tx *Tx, v *VisitRecord) error {
			_, err := tx.PutOffVisit(ctx, v.ID, v.Sequence, start.On+1, ansel, today)
			return err
		}, func(v *VisitRecord) bool { return v.On == start.On+1 && v.Pinned && !v.IsTaken() }},
		{"put it off, being expected", func(tx *Tx, v *VisitRecord) error {
			_, err := tx.PutOffVisit(ctx, v.ID, v.Sequence, start.On+2, brida, today)
			return err
		}, func(v *VisitRecord) bool {
			return v.On == start.On+2 && slices.Equal(v.Taken, []int64{brida}) && slices.Equal(v.Who, []int64{brida})
		}},
		{
			"go along", func(tx *Tx, v *VisitRecord) error {
				_, err := tx.TakeVisit(ctx, v.ID, v.Sequence, ansel, today)
				return err
			},
			func(v *VisitRecord) bool { return slices.Equal(v.Who, []int64{brida, ansel}) },
		},
		{
			"leave it", func(tx *Tx, v *VisitRecord) error {
				_, err := tx.LeaveVisit(ctx, v.ID, v.Sequence, brida, today)
				return err
			},
			func(v *VisitRecord) bool { return slices.Equal(v.Who, []int64{ansel}) },
		},
		{
			"say who goes", func(tx *Tx, v *VisitRecord) error {
				_, err := tx.SetWho(ctx, v.ID, v.Sequence, []int64{brida, ansel}, today)
				return err
			},
			func(v *VisitRecord) bool { return slices.Equal(v.Who, []int64{brida, ansel}) },
		},
		{"move it", func(tx *Tx, v *VisitRecord) error {
			_, err := tx.MoveVisit(ctx, v.ID, v.Sequence, start.On+3, today)
			return err
		}, func(v *VisitRecord) bool { return v.On == start.On+3 && v.Pinned }},
		{"leave a box out", func(tx *Tx, v *VisitRecord) error {
			_, err := tx.LeaveBoxOut(ctx, v.ID, v.Sequence, start.Boxes[0].BoxID, true, today)
			return err
		}, func(v *VisitRecord) bool {
			return slices.Equal(v.NotBoxes, []int64{start.Boxes[0].BoxID}) &&
				!slices.ContainsFunc(v.Boxes, func(b scheduler.VisitBox) bool { return b.BoxID == start.Boxes[0].BoxID })
		}},
		{"put it back", func(tx *Tx, v *VisitRecord) error {
			_, err := tx.LeaveBoxOut(ctx, v.ID, v.Sequence, start.Boxes[0].BoxID, false, today)
			return err
		}, func(v *VisitRecord) bool { return len(v.NotBoxes) == 0 }},
		{"cancel it", func(tx *Tx, v *VisitRecord) error {
			_, err := tx.CallOffVisit(ctx, v.ID, v.Sequence, today+28, today)
			return err
		}, func(v *VisitRecord) bool {
			return v.Status == scheduler.Cancelled && v.CancelledUntil == today+cancelledDays
		}},
	}
	for _, step := range steps {
		t.Run(step.name, func(t *testing.T) {
			v := read()
			inClub(t, s, club, func(tx *Tx) error { return step.do(tx, v) })
			now := read()
			if !step.ok(now) {
				t.Errorf("now %+v", now)
			}
			if now.Sequence <= v.Sequence || !now.ChangedAt.After(v.ChangedAt) || now.UID != start.UID {
				t.Errorf("sequence %d after %d, changed at %s after %s", now.Sequence, v.Sequence, now.ChangedAt, v.ChangedAt)
			}
			stale := *v
			err := s.InClub(ctx, club, func(tx *Tx) error { return step.do(tx, &stale) })
			if !errors.Is(err, ErrVisitChanged) {
				t.Errorf("with the old sequence: %v", err)
			}
		})
	}
	t.Run("its boxes are planned anew", func(t *testing.T) {
		inClub(t, s, club, func(tx *Tx) error {
			open, err := tx.Visits(ctx, VisitFilter{ApiaryID: start.ApiaryID, OpenOnly: true, From: today})
			planned := map[int64]bool{}
			for _, v := range open {
				for _, b := range v.Boxes {
					planned[b.BoxID] = true
				}
			}
			for _, b := range start.Boxes {
				if !planned[b.BoxID] {
					t.Errorf("box %d is on no visit", b.BoxID)
				}
			}
			return err
		})
	})
	t.Run("held, and let go again", func(t *testing.T) {
		id := c.Visits[1].ID
		for _, pinned := range []bool{true, false} {
			inClub(t, s, club, func(tx *Tx) error {
				v, err := tx.Visit(ctx, id)
				if err != nil {
					return err
				}
				if _, err := tx.PinVisit(ctx, id, v.Sequence, pinned, today); err != nil {
					return err
				}
				now, err := tx.Visit(ctx, id)
				if err == nil && (now.Pinned != pinned || now.Sequence <= v.Sequence || pinned && now.On != v.On) {
					t.Errorf("now %+v", now)
				}
				return err
			})
		}
	})
	t.Run("done without openings", func(t *testing.T) {
		var v VisitRecord
		inClub(t, s, club, func(tx *Tx) error {
			open, err := tx.Visits(ctx, VisitFilter{OpenOnly: true, From: today, ApiaryID: c.Apiaries[1].ID})
			if err != nil {
				return err
			}
			v = open[0]
			_, err = tx.FinishVisit(ctx, v.ID, v.Sequence, today, today)
			return err
		})
		inClub(t, s, club, func(tx *Tx) error {
			now, err := tx.VisitByUID(ctx, v.UID)
			if err == nil && (now.Status != scheduler.Done || now.On != today) {
				t.Errorf("now %+v", now)
			}
			return err
		})
	})
	t.Run("filters", func(t *testing.T) {
		inClub(t, s, club, func(tx *Tx) error {
			all, err := tx.Visits(ctx, VisitFilter{})
			if err != nil {
				return err
			}
			of := func(f VisitFilter) int {
				got, err := tx.Visits(ctx, f)
				if err != nil {
					t.Fatal(err)
				}
				return len(got)
			}
			day := all[len(all)/2].On
			if a, b := of(VisitFilter{Until: day - 1}), of(VisitFilter{From: day}); a+b != len(all) || a == 0 {
				t.Errorf("%d before and %d from %s of %d", a, b, day, len(all))
			}
			if a, b := of(VisitFilter{ApiaryID: c.Apiaries[0].ID}), of(VisitFilter{ApiaryID: c.Apiaries[1].ID}); a+b != len(all) || a == 0 {
				t.Errorf("%d and %d of %d", a, b, len(all))
			}
			goes := 0
			for _, v := range all {
				if slices.Contains(v.Who, ansel) {
					goes++
				}
			}
			if n := of(VisitFilter{MemberID: ansel}); n != goes || n == 0 {
				t.Errorf("%d that a member goes on, want %d", n, goes)
			}
			return nil
		})
	})
}
