package store

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"
	"pgregory.net/rapid"

	"pryday/scheduler"
	"pryday/store/storetest"
)

// Whatever people do at the same time, in the end the plan is that of the
// records, every opening is there, and each stack has each of its boxes once.
func TestManyHandsAtOnce(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	c := readClub(t, s, club)
	var boxes, hives []int64
	for b := range eachBox(c) {
		boxes = append(boxes, b.ID)
	}
	for _, a := range c.Apiaries {
		for _, h := range a.Hives {
			hives = append(hives, h.ID)
		}
	}
	do := func(r *rand.Rand, tx *Tx) (err error) {
		box, hive := boxes[r.IntN(len(boxes))], hives[r.IntN(len(hives))]
		switch r.IntN(5) {
		case 0, 1:
			o := scheduler.Opening{On: today - scheduler.Date(r.IntN(30)), Joint: scheduler.Difficulty(r.IntN(5)), Frames: scheduler.NotTried}
			_, err = tx.RecordOpening(ctx, box, o, today)
		case 2:
			_, err = tx.MoveBox(ctx, box, scheduler.BoxPlace{From: today, Where: scheduler.OnHive, HiveID: hive, Position: 1 + r.IntN(3)}, today)
		case 3:
			_, err = tx.MoveBox(ctx, box, scheduler.BoxPlace{From: today, Where: scheduler.InStore}, today)
		case 4:
			var open []VisitRecord
			if open, err = tx.Visits(ctx, VisitFilter{OpenOnly: true, From: today}); err == nil && len(open) > 0 {
				v := open[r.IntN(len(open))]
				_, err = tx.MoveVisit(ctx, v.ID, v.Sequence, v.On+1, today)
			}
		}
		if errors.Is(err, ErrVisitChanged) {
			return nil // another was first: nothing was done
		}
		return err
	}
	var wg sync.WaitGroup
	errs := make([]error, 4)
	for i := range errs {
		wg.Go(func() {
			r := rand.New(rand.NewPCG(7, uint64(i)))
			for range 8 {
				errs[i] = errors.Join(errs[i], s.InClub(ctx, club, func(tx *Tx) error { return do(r, tx) }))
			}
		})
	}
	wg.Wait()
	if err := errors.Join(errs...); err != nil {
		t.Fatal(err)
	}
	savedIsPlanned(t, s, club)
	seen := map[int64]bool{}
	for b := range eachBox(readClub(t, s, club)) {
		if seen[b.ID] {
			t.Errorf("box %s stands in two places", b.Name)
		}
		seen[b.ID] = true
	}
	if len(seen) != len(boxes) {
		t.Errorf("%d boxes of %d are left", len(seen), len(boxes))
	}
}

// Any text comes back as it was written.
func TestAnyText(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	text := rapid.Custom(func(t *rapid.T) string {
		r := rapid.StringN(1, 80, 300).Draw(t, "text")
		return "x" + strings.ToValidUTF8(strings.ReplaceAll(r, "\x00", ""), "")
	})
	rapid.Check(t, func(t *rapid.T) {
		c := sampleClub()
		club, err := s.CreateClub(ctx, "Any")
		if err != nil {
			t.Fatal(err)
		}
		c.Name = text.Draw(t, "club")
		c.Members[0].Name = text.Draw(t, "member")
		c.Apiaries[0].Name, c.Apiaries[0].AccessNotes = text.Draw(t, "apiary")+"1", text.Draw(t, "notes")
		c.Apiaries[0].Hives[0].Name, c.Apiaries[0].Hives[0].LeaveAlone[0].Reason = text.Draw(t, "hive")+"1", text.Draw(t, "reason")
		box := &c.Apiaries[0].Hives[0].Boxes[0]
		box.Name, box.Openings[0].Note = text.Draw(t, "box"), text.Draw(t, "note")
		var got *scheduler.Club
		err = s.InClub(ctx, club, func(tx *Tx) error {
			if _, err := tx.Import(ctx, c); err != nil {
				return err
			}
			again, err := tx.Import(ctx, c)
			if err != nil || again.Changed() {
				return fmt.Errorf("second import changed %+v: %w", again, err)
			}
			got, err = tx.Club(ctx)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		a := &got.Apiaries[0]
		for want, have := range map[string]string{
			c.Name: got.Name, c.Members[0].Name: got.Members[0].Name, c.Apiaries[0].Name: a.Name, c.Apiaries[0].AccessNotes: a.AccessNotes,
			c.Apiaries[0].Hives[0].Name: a.Hives[0].Name, c.Apiaries[0].Hives[0].LeaveAlone[0].Reason: a.Hives[0].LeaveAlone[0].Reason,
			box.Name: a.Hives[0].Boxes[0].Name, box.Openings[0].Note: a.Hives[0].Boxes[0].Openings[0].Note,
		} {
			if have != want {
				t.Fatalf("%q came back as %q", want, have)
			}
		}
	})
}

// someoneWaits returns a function that reports whether anybody waits for a lock in
// a store's database.
func someoneWaits(t *testing.T, s *Store) func() bool {
	t.Helper()
	ctx := context.Background()
	owner, err := pgx.Connect(ctx, storetest.Owner(s.cfg.URL)) // the serving role does not see who waits
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { owner.Close(ctx) })
	return func() (waits bool) {
		t.Helper()
		err := owner.QueryRow(ctx, `
			SELECT EXISTS (SELECT FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock')`).Scan(&waits)
		if err != nil {
			t.Fatal(err)
		}
		return waits
	}
}
