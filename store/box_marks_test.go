package store

import (
	"context"
	"errors"
	"testing"
)

// Marks are given to all boxes of a list or to none, and may go round in a ring.
func TestGiveMarks(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	first := readClub(t, s, club)
	a := &first.Apiaries[0]
	h := &a.Hives[0]
	x, y := &h.Boxes[0], &h.Boxes[1]
	give := func(apiary int64, marks ...NewMark) error {
		return s.InClub(ctx, club, func(tx *Tx) error {
			if err := tx.AwaitMarks(ctx); err != nil {
				return err
			}
			return tx.GiveMarks(ctx, apiary, marks)
		})
	}
	marks := func() (string, string) {
		_, now := readClub(t, s, club).HiveByID(h.ID)
		return now.Box(x.ID).Name, now.Box(y.ID).Name
	}
	before := recordsOf(t, s, club)
	for name, err := range map[string]error{
		"called otherwise": give(a.ID, NewMark{x.ID, x.Name, "N1"}, NewMark{y.ID, "other", "N2"}),
		"elsewhere":        give(a.ID+1, NewMark{x.ID, x.Name, "N1"}),
		"in store":         give(0, NewMark{x.ID, x.Name, "N1"}),
	} {
		if !errors.Is(err, ErrStackChanged) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if after := recordsOf(t, s, club); after != before {
		t.Error("a refused list changed records")
	}
	if err := give(a.ID, NewMark{x.ID, x.Name, y.Name}, NewMark{y.ID, y.Name, x.Name}); err != nil {
		t.Fatal(err)
	}
	if one, two := marks(); one != y.Name || two != x.Name {
		t.Errorf("exchanged, they are %s and %s", one, two)
	}
	inClub(t, s, club, func(tx *Tx) error {
		found, err := tx.Marked(ctx, []string{x.Name, "none"}, nil)
		if err == nil && (len(found) == 0 || found[0].ID != y.ID || found[0].Hive != h.Name || found[0].Apiary != a.Name) {
			t.Errorf("marked %s: %+v", x.Name, found)
		}
		but, err2 := tx.Marked(ctx, []string{x.Name}, []int64{y.ID})
		for _, b := range but {
			if b.ID == y.ID {
				t.Error("a box is found that was left out")
			}
		}
		return errors.Join(err, err2)
	})
}
