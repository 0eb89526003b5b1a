package store

import (
	"context"
	"errors"
	"reflect"
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

// Whoever looks after an apiary from now on is expected on its visits, but for those that
// somebody said they make.
func TestVisitsAskWhoLooksAfterTheApiary(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	inClub(t, s, club, func(tx *Tx) error { _, err := tx.ReplanAll(ctx, today); return err })
	c := readClub(t, s, club)
	a := c.Apiaries[0]
	at := func(apiary int64) (out []scheduler.Visit) {
		for _, v := range readClub(t, s, club).Visits {
			if v.ApiaryID == apiary && v.Status.Open() && v.On >= today {
				out = append(out, v)
			}
		}
		return out
	}
	before, elsewhere := at(a.ID), at(c.Apiaries[1].ID)
	if len(before) < 2 || len(a.Keepers) != 1 {
		t.Fatalf("%d visits, kept by %v", len(before), a.Keepers)
	}
	old := a.Keepers[0]
	i := slices.IndexFunc(c.Members, func(m scheduler.Member) bool { return m.ID != old })
	next := c.Members[i].ID
	keep := func(keepers ...int64) {
		a.Keepers = keepers
		inClub(t, s, club, func(tx *Tx) error { _, err := tx.UpdateApiary(ctx, a, today); return err })
	}
	inClub(t, s, club, func(tx *Tx) error {
		_, err := tx.TakeVisit(ctx, before[0].ID, before[0].Sequence, old, today)
		return err
	})
	keep(next)
	for i, v := range at(a.ID) {
		if want := []int64{[]int64{old, next}[min(i, 1)]}; v.ID != before[i].ID || !slices.Equal(v.Who, want) || v.Sequence != before[i].Sequence+1 {
			t.Errorf("on %s are expected %v, want %v; sequence %d after %d", v.On, v.Who, want, v.Sequence, before[i].Sequence)
		}
	}
	keep(next, old)
	for i, v := range at(a.ID)[1:] {
		if !slices.Equal(v.Who, []int64{next, old}) {
			t.Errorf("on %s, the %dth, are expected %v, want both", v.On, i+1, v.Who)
		}
	}
	sequences := func() (out []int) {
		for _, v := range at(a.ID) {
			out = append(out, v.Sequence)
		}
		return out
	}
	were := sequences()
	keep(old, next) // the same people
	if now := sequences(); !slices.Equal(now, were) {
		t.Errorf("the same keepers in another order: sequences %v after %v", now, were)
	}
	if now := at(c.Apiaries[1].ID); !reflect.DeepEqual(now, elsewhere) {
		t.Errorf("the other apiary's visits are %+v, were %+v", now, elsewhere)
	}
}
