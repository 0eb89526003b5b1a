package store

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// drawChains draws openings of boxes in the order in which they are recorded:
// on few days, so that several fall on one, and corrected and taken back over
// and over, to other days too. Of some openings the correction comes first.
func drawChains(r *rand.Rand, boxes []int64) []BoxOpening {
	var out []BoxOpening
	for _, box := range boxes {
		var stands []string // ids that nothing corrects yet
		var of []BoxOpening
		for range r.IntN(14) {
			o := scheduler.Opening{
				ID: uuid.Must(uuid.NewRandomFromReader(chars{r})).String(), On: today - 2 + scheduler.Date(r.IntN(4)),
				Joint: scheduler.Difficulty(r.IntN(5)), Frames: scheduler.Difficulty(r.IntN(6) - 1),
				Scraped:   []scheduler.Scraped{scheduler.ScrapedAll, scheduler.ScrapedPart, scheduler.ScrapedNone}[r.IntN(3)],
				Condition: []scheduler.Condition{scheduler.LidDamaged},
			}
			if n := len(stands); n > 0 && r.IntN(2) == 0 {
				i := r.IntN(n)
				o.Supersedes, o.Void = stands[i], r.IntN(4) == 0
				stands = slices.Delete(stands, i, i+1)
			}
			stands = append(stands, o.ID)
			of = append(of, BoxOpening{BoxID: box, Opening: o})
		}
		if n := len(of); n > 1 && r.IntN(3) == 0 {
			i := r.IntN(n - 1)
			of[i], of[i+1] = of[i+1], of[i]
		}
		out = append(out, of...)
	}
	return out
}

// chars reads random bytes.
type chars struct{ *rand.Rand }

func (c chars) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = byte(c.Uint32())
	}
	return len(b), nil
}

// toldOf is what planning is told of an opening.
func toldOf(openings []scheduler.Opening) []string {
	out := []string{}
	for _, o := range openings {
		out = append(out, fmt.Sprintf("%s %d/%d %s", o.On, o.Joint, o.Frames, o.Scraped))
	}
	return out
}

// TestCountsAsTheSchedulerSays holds the SQL to scheduler.Effective on random
// chains of corrections, in each place where the SQL decides.
func TestCountsAsTheSchedulerSays(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	counted, changed := 0, 0
	for seed := range uint64(6) {
		club, err := s.CreateClub(ctx, fmt.Sprint("Club ", seed))
		if err != nil {
			t.Fatal(err)
		}
		var want map[int64]*scheduler.Box
		var apiary int64
		inClub(t, s, club, func(tx *Tx) error {
			if _, err := tx.Import(ctx, largeClub("Chains", 1, 0)); err != nil {
				return err
			}
			boxes, err := tx.ids(ctx, `SELECT id FROM box ORDER BY id`)
			if err != nil {
				return err
			}
			var drawn pgx.Batch
			tx.queueOpeningInserts(&drawn, drawChains(rand.New(rand.NewPCG(seed, 1)), boxes))
			if err := tx.tx.SendBatch(ctx, &drawn).Close(); err != nil {
				return err
			}
			c, err := tx.Club(ctx)
			if err != nil {
				return err
			}
			want, apiary = boxIndex(c), c.Apiaries[0].ID
			return nil
		})

		inClub(t, s, club, func(tx *Tx) error {
			l := &loading{}
			var b pgx.Batch
			sc := scope{apiaries: []int64{apiary}, openings: effective}
			l.queueOpenings(&b, sc)
			if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
				return err
			}
			got := map[int64]*scheduler.Box{}
			for id := range want {
				got[id] = &scheduler.Box{ID: id}
			}
			l.addOpenings(got)
			for id := range want {
				effective := scheduler.Effective(want[id].Openings)
				counted += len(effective)
				changed += len(want[id].Openings) - len(effective)
				if have, want := toldOf(scheduler.Effective(got[id].Openings)), toldOf(effective); !slices.Equal(have, want) {
					t.Errorf("seed %d, box %d: planning is told %q, and %q count", seed, id, have, want)
				}
			}
			return nil
		})

		inClub(t, s, club, func(tx *Tx) error {
			var days []scheduler.Date
			for id := range want {
				for _, o := range scheduler.Effective(want[id].Openings) {
					if o.On >= today-1 {
						days = append(days, o.On)
					}
				}
			}
			slices.Sort(days)
			_, got, err := tx.Stacks(ctx, &scheduler.Club{}, nil, []int64{apiary}, today-1)
			if want := slices.Compact(days); !slices.Equal(got[apiary], want) {
				t.Errorf("seed %d: opened on %v, want %v", seed, got[apiary], want)
			}
			return err
		})

		inClub(t, s, club, func(tx *Tx) error {
			visit := VisitRecord{Visit: scheduler.Visit{ApiaryID: apiary, Status: scheduler.Confirmed}}
			c, _, err := tx.FeedClub(ctx, 0, []VisitRecord{visit}, today)
			if err != nil {
				return err
			}
			got := boxIndex(c)
			for id := range want {
				have, some := got[id].LastOpening(today)
				last, any := want[id].LastOpening(today)
				if any = any && len(last.Condition) > 0; some != any || some && have.ID != last.ID {
					t.Errorf("seed %d, box %d: a calendar speaks of opening %q of %s, want %q of %s", seed, id, have.ID, have.On, last.ID, last.On)
				}
				now, then := got[id].OpeningOn(today), want[id].OpeningOn(today)
				if (now == nil) != (then == nil) || now != nil && now.ID != then.ID {
					t.Errorf("seed %d, box %d: a calendar takes %v for today's opening, want %v", seed, id, now, then)
				}
			}
			return nil
		})
	}
	if counted < 200 || changed < 200 {
		t.Errorf("%d openings count and %d do not: the draw is too tame", counted, changed)
	}
}
