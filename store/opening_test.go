package store

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// sometime is an instant of today.
var sometime = time.Date(2027, 6, 1, 9, 30, 0, 0, time.UTC)

func TestConcurrentOpeningsAllCount(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	boxes := readClub(t, s, club).Apiaries[0].Hives[0].Boxes
	var wg sync.WaitGroup
	errs := make([]error, 9)
	for i := range errs {
		wg.Go(func() {
			errs[i] = s.InClub(ctx, club, func(tx *Tx) error {
				_, err := tx.RecordOpening(ctx, boxes[i%3].ID, scheduler.Opening{On: today - 3 + scheduler.Date(i/3), Joint: scheduler.Hard, Frames: scheduler.NotTried}, today)
				return err
			})
		})
	}
	wg.Wait()
	if err := errors.Join(errs...); err != nil {
		t.Fatal(err)
	}
	c := readClub(t, s, club)
	for _, b := range c.Apiaries[0].Hives[0].Boxes {
		if len(b.Openings) != 6 {
			t.Errorf("box %s has %d openings, want 6", b.Name, len(b.Openings))
		}
	}
	savedIsPlanned(t, s, club)
}

// savedIsPlanned checks that the saved visits and states are what planning the
// records from nothing but themselves gives.
func savedIsPlanned(t *testing.T, s *Store, club int64) {
	t.Helper()
	ctx := context.Background()
	c := readClub(t, s, club)
	want := scheduler.PlanClub(c, today)
	inClub(t, s, club, func(tx *Tx) error {
		got, err := tx.SavedPlan(ctx, today)
		if err != nil {
			return err
		}
		if len(want.Cancel)+len(want.Past) != 0 || len(got.Visits) != len(want.Visits) {
			t.Errorf("saved %d visits, planned %d and %d to cancel", len(got.Visits), len(want.Visits), len(want.Cancel))
		}
		byID := func(a, b scheduler.Visit) int { return cmp.Compare(a.ID, b.ID) }
		slices.SortFunc(got.Visits, byID)
		slices.SortFunc(want.Visits, byID)
		for i := range min(len(got.Visits), len(want.Visits)) {
			if !sameVisit(&got.Visits[i], &want.Visits[i]) || got.Visits[i].UID != want.Visits[i].UID {
				t.Errorf("saved visit %+v\nplanned %+v", got.Visits[i], want.Visits[i])
			}
		}
		states := map[int64]scheduler.BoxState{}
		for _, b := range got.Boxes {
			states[b.BoxID] = b
		}
		if len(states) != len(want.Boxes) {
			t.Errorf("saved %d states, planned %d", len(states), len(want.Boxes))
		}
		for _, b := range want.Boxes {
			if states[b.BoxID] != b {
				t.Errorf("saved state %+v\nplanned %+v", states[b.BoxID], b)
			}
		}
		return nil
	})
}

func TestRecordOpening(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	box := readClub(t, s, club).Apiaries[0].Hives[0].Boxes[1]
	first := scheduler.Opening{
		ID: uuid.NewString(), On: today, Joint: scheduler.Stuck, Frames: scheduler.Hard, Scraped: scheduler.ScrapedAll,
		Gaps: []scheduler.Gap{{At: scheduler.BetweenBoxes, MM: 11}}, Note: "two of us",
	}
	record := func(t *testing.T, o scheduler.Opening) (r *Recorded) {
		t.Helper()
		inClub(t, s, club, func(tx *Tx) (err error) {
			r, err = tx.RecordOpening(ctx, box.ID, o, today)
			return err
		})
		return r
	}
	last := func(t *testing.T) scheduler.Opening {
		t.Helper()
		for b := range eachBox(readClub(t, s, club)) {
			if b.ID == box.ID {
				e := scheduler.Effective(b.Openings)
				return e[len(e)-1]
			}
		}
		t.Fatal("the box is gone")
		return scheduler.Opening{}
	}

	r := record(t, first)
	if len(r.New) != 1 || r.Before[box.ID].LastOpened == today || r.After[box.ID].LastOpened != today {
		t.Errorf("recorded %v; last opened before %s, after %s", r.New, r.Before[box.ID].LastOpened, r.After[box.ID].LastOpened)
	}
	if r.After[box.ID].LastHard != scheduler.Stuck {
		t.Errorf("last hard %d, want stuck", r.After[box.ID].LastHard)
	}
	if got := last(t); got.Note != first.Note || len(got.Gaps) != 1 || got.Gaps[0] != first.Gaps[0] {
		t.Errorf("recorded %+v", got)
	}
	t.Run("a second arrival changes nothing", func(t *testing.T) {
		if r := record(t, first); len(r.New) != 0 || r.Replanned != nil {
			t.Errorf("recorded again: %+v", r)
		}
	})
	correction := scheduler.Opening{ID: uuid.NewString(), Supersedes: first.ID, On: today, Joint: scheduler.Loose, Frames: scheduler.Loose}
	t.Run("a correction takes its place", func(t *testing.T) {
		r := record(t, correction)
		if r.After[box.ID].LastHard != scheduler.Loose || r.After[box.ID].Due <= r.Before[box.ID].Due {
			t.Errorf("after the correction %+v, before %+v", r.After[box.ID], r.Before[box.ID])
		}
		savedIsPlanned(t, s, club)
	})
	t.Run("only once", func(t *testing.T) {
		err := s.InClub(ctx, club, func(tx *Tx) error {
			_, err := tx.RecordOpening(ctx, box.ID, scheduler.Opening{Supersedes: first.ID, On: today, Joint: scheduler.Firm}, today)
			return err
		})
		if !errors.Is(err, ErrSuperseded) {
			t.Errorf("got %v", err)
		}
	})
	t.Run("not of another box", func(t *testing.T) {
		err := s.InClub(ctx, club, func(tx *Tx) error {
			_, err := tx.RecordOpening(ctx, box.ID+1, scheduler.Opening{Supersedes: correction.ID, On: today}, today)
			return err
		})
		if !errors.Is(err, ErrNotFound) {
			t.Errorf("got %v", err)
		}
	})
	t.Run("taken back, it was never made", func(t *testing.T) {
		r := record(t, scheduler.Opening{ID: uuid.NewString(), Supersedes: correction.ID, Void: true, On: today})
		if r.After[box.ID].LastOpened != box.Openings[2].On {
			t.Errorf("last opened %s, want %s", r.After[box.ID].LastOpened, box.Openings[2].On)
		}
	})
	t.Run("an id that is none", func(t *testing.T) {
		err := s.InClub(ctx, club, func(tx *Tx) error {
			_, err := tx.RecordOpening(ctx, box.ID, scheduler.Opening{ID: "first", On: today}, today)
			return err
		})
		if err == nil {
			t.Error("recorded")
		}
	})
	t.Run("a box in store", func(t *testing.T) {
		inClub(t, s, club, func(tx *Tx) error {
			c, err := tx.Club(ctx)
			if err != nil {
				return err
			}
			r, err := tx.RecordOpening(ctx, c.Spare[0].ID, scheduler.Opening{On: today, Joint: scheduler.Light}, today)
			if err == nil && (len(r.New) != 1 || r.Replanned != nil) {
				t.Errorf("recorded %+v", r)
			}
			return err
		})
	})
}

func TestReplanOfNothingNewRewritesNothing(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club := importSample(t, s)
	tables := []string{"club", "apiary", "visit", "visit_box", "visit_member", "due"}
	snapshot := func() map[string]string {
		out := map[string]string{}
		inClub(t, s, club, func(tx *Tx) error {
			for _, table := range tables {
				var rows string
				err := tx.tx.QueryRow(ctx, `SELECT coalesce(string_agg(ctid::text || xmin::text, ',' ORDER BY ctid), '') FROM `+table).Scan(&rows)
				if err != nil {
					return err
				}
				out[table] = rows
			}
			return nil
		})
		return out
	}
	before := snapshot()
	inClub(t, s, club, func(tx *Tx) error {
		r, err := tx.ReplanAll(ctx, today)
		if err == nil && !r.Empty() {
			t.Errorf("replanning the same day changed %+v", r)
		}
		return err
	})
	after := snapshot()
	for _, table := range tables {
		if before[table] != after[table] {
			t.Errorf("rows of %s were rewritten", table)
		}
	}
	t.Run("the next day tells other odds, and rewrites none", func(t *testing.T) {
		states := func() (out []scheduler.BoxState) {
			inClub(t, s, club, func(tx *Tx) (err error) { out, err = tx.BoxStates(ctx, 0); return err })
			return out
		}
		was, rows := states(), snapshot()
		inClub(t, s, club, func(tx *Tx) error { _, err := tx.ReplanAll(ctx, today+1); return err })
		if now := snapshot()["due"]; now != rows["due"] {
			t.Error("rows of due were rewritten")
		}
		plan := scheduler.PlanClub(readClub(t, s, club), today+1)
		now := states()
		if !slices.Equal(now, plan.Boxes) {
			t.Errorf("saved states are\n%+v\nwant\n%+v", now, plan.Boxes)
		}
		for i := range now {
			if now[i].Odds <= was[i].Odds || now[i].SealingDays <= was[i].SealingDays {
				t.Errorf("box %d: odds %v at %v sealing days, the day before %v at %v",
					now[i].BoxID, now[i].Odds, now[i].SealingDays, was[i].Odds, was[i].SealingDays)
			}
		}
	})
}
