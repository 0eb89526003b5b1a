package store

import (
	"context"
	"errors"
	"slices"
	"testing"

	"pryday/scheduler"
)

// stackNames are the marks of a hive's boxes from the bottom up.
func stackNames(c *scheduler.Club, hive int64) (names []string) {
	for i := range c.Apiaries {
		for j := range c.Apiaries[i].Hives {
			if h := &c.Apiaries[i].Hives[j]; h.ID == hive {
				for k := range h.Boxes {
					names = append(names, h.Boxes[k].Name)
				}
			}
		}
	}
	return names
}

func TestBoxesMove(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	one, two := c.Apiaries[0].Hives[0], c.Apiaries[1].Hives[0]
	spare := c.Spare[0]
	move := func(id int64, to scheduler.BoxPlace) error {
		return s.InClub(ctx, club, func(tx *Tx) error {
			_, err := tx.MoveBox(ctx, id, to, today)
			return err
		})
	}
	steps := []struct {
		name     string
		do       func() error
		one, two []string
		spare    []string
	}{
		{"to the bottom of another apiary's hive", func() error {
			return move(one.Boxes[1].ID, scheduler.BoxPlace{From: today - 2, Where: scheduler.OnHive, HiveID: two.ID, Position: 1})
		}, []string{"O11", "O13"}, []string{"O12", "Q11", "Q12", "Q13"}, []string{"S1"}},
		{"from the store to the top", func() error {
			return move(spare.ID, scheduler.BoxPlace{From: today - 1, Where: scheduler.OnHive, HiveID: one.ID})
		}, []string{"O11", "O13", "S1"}, []string{"O12", "Q11", "Q12", "Q13"}, nil},
		{"lent to a neighbour", func() error {
			return move(two.Boxes[2].ID, scheduler.BoxPlace{From: today, Where: scheduler.Lent, LentTo: "Dewi", Until: today + 60})
		}, []string{"O11", "O13", "S1"}, []string{"O12", "Q11", "Q12"}, []string{"Q13"}},
		{"retired", func() error {
			return move(two.Boxes[2].ID, scheduler.BoxPlace{From: today, Where: scheduler.Retired})
		}, []string{"O11", "O13", "S1"}, []string{"O12", "Q11", "Q12"}, []string{"Q13"}},
		{"down within its stack", func() error {
			return move(spare.ID, scheduler.BoxPlace{From: today, Where: scheduler.OnHive, HiveID: one.ID, Position: 2})
		}, []string{"O11", "S1", "O13"}, []string{"O12", "Q11", "Q12"}, []string{"Q13"}},
		{"the stack as it is drawn anew", func() error {
			return s.InClub(ctx, club, func(tx *Tx) error {
				_, err := tx.OrderStack(ctx, one.ID, []int64{spare.ID, one.Boxes[2].ID, one.Boxes[0].ID}, today)
				return err
			})
		}, []string{"S1", "O13", "O11"}, []string{"O12", "Q11", "Q12"}, []string{"Q13"}},
		{"a new one in between", func() error {
			return s.InClub(ctx, club, func(tx *Tx) error {
				_, _, err := tx.AddBox(ctx, one.ID, 2, scheduler.Box{Name: "N1", Kind: "shallow", SetUpOn: today}, today)
				return err
			})
		}, []string{"S1", "N1", "O13", "O11"}, []string{"O12", "Q11", "Q12"}, []string{"Q13"}},
	}
	for _, step := range steps {
		t.Run(step.name, func(t *testing.T) {
			if err := step.do(); err != nil {
				t.Fatal(err)
			}
			now := readClub(t, s, club)
			var spare []string
			for _, b := range now.Spare {
				spare = append(spare, b.Name)
			}
			if a, b := stackNames(now, one.ID), stackNames(now, two.ID); !slices.Equal(a, step.one) || !slices.Equal(b, step.two) || !slices.Equal(spare, step.spare) {
				t.Errorf("stacks %v and %v, spare %v", a, b, spare)
			}
			savedIsPlanned(t, s, club)
		})
	}
	t.Run("where it was is kept", func(t *testing.T) {
		for b := range eachBox(readClub(t, s, club)) {
			if b.ID == two.Boxes[2].ID && (len(b.Places) != 3 || b.Places[1].LentTo != "Dewi" || b.RetiredOn != today || len(b.Openings) != 3) {
				t.Errorf("retired box %+v", b)
			}
		}
	})
	t.Run("not backwards", func(t *testing.T) {
		err := move(spare.ID, scheduler.BoxPlace{From: today - 9, Where: scheduler.InStore})
		if !errors.Is(err, ErrBackwards) {
			t.Errorf("got %v", err)
		}
	})
	t.Run("not onto a hive that is not there", func(t *testing.T) {
		err := move(spare.ID, scheduler.BoxPlace{From: today, Where: scheduler.OnHive, HiveID: 1 << 40})
		if !errors.Is(err, ErrNotFound) {
			t.Errorf("got %v", err)
		}
	})
	t.Run("not by a list of other boxes", func(t *testing.T) {
		err := s.InClub(ctx, club, func(tx *Tx) error {
			_, err := tx.OrderStack(ctx, two.ID, []int64{two.Boxes[0].ID, two.Boxes[1].ID}, today)
			return err
		})
		if !errors.Is(err, ErrStackChanged) {
			t.Errorf("got %v", err)
		}
	})
	t.Run("not at a standstill", func(t *testing.T) {
		inClub(t, s, club, func(tx *Tx) error {
			a := c.Apiaries[1]
			a.Standstill = []scheduler.Period{{From: today - 1, Reason: "order of the inspector"}}
			if _, err := tx.UpdateApiary(ctx, a, today); err != nil {
				return err
			}
			open, err := tx.Visits(ctx, VisitFilter{ApiaryID: a.ID, OpenOnly: true, From: today})
			if len(open) != 0 {
				t.Errorf("%d visits planned at a standstill", len(open))
			}
			return err
		})
		err := move(spare.ID, scheduler.BoxPlace{From: today, Where: scheduler.OnHive, HiveID: two.ID})
		if !errors.Is(err, ErrStandstill) {
			t.Errorf("got %v", err)
		}
	})
}

func TestHivesChange(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	quarry := c.Apiaries[1]
	t.Run("leave-alone dates take it out", func(t *testing.T) {
		hive := quarry.Hives[0]
		hive.LeaveAlone = []scheduler.Period{{From: today, Until: today + 40, Reason: "queen cells"}}
		inClub(t, s, club, func(tx *Tx) error { _, err := tx.UpdateHive(ctx, hive, today); return err })
		inClub(t, s, club, func(tx *Tx) error {
			states, err := tx.BoxStates(ctx, quarry.ID)
			for _, b := range states {
				if b.HiveID == hive.ID && b.LeftAlone.IsZero() {
					t.Errorf("box %d is not left alone", b.BoxID)
				}
			}
			return err
		})
	})
	t.Run("an apiary goes when it is empty", func(t *testing.T) {
		if err := s.InClub(ctx, club, func(tx *Tx) error { return tx.RemoveApiary(ctx, quarry.ID) }); !errors.Is(err, ErrNotEmpty) {
			t.Errorf("got %v", err)
		}
		inClub(t, s, club, func(tx *Tx) error {
			id, err := tx.AddApiary(ctx, scheduler.Apiary{Name: "Roof", Timezone: "Europe/Vienna"})
			if err != nil {
				return err
			}
			if _, err := tx.AddHive(ctx, id, scheduler.Hive{Name: "First"}); err != nil {
				return err
			}
			if _, err := tx.Replan(ctx, id, today); err != nil {
				return err
			}
			other, err := tx.AddApiary(ctx, scheduler.Apiary{Name: "Cellar", Timezone: "Europe/Vienna"})
			if err != nil {
				return err
			}
			return tx.RemoveApiary(ctx, other)
		})
	})
}
