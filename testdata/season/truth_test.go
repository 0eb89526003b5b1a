package season

import (
	"context"
	"hash/fnv"
	"math"
	"math/rand/v2"

	"pryday/scheduler"
	"pryday/store"
)

// truth is how the boxes of a town really seal, which nobody knows.
type truth struct {
	seed  uint64
	last  map[int64]scheduler.Date                  // by box: opened last
	found map[string]map[int64]scheduler.Difficulty // by visit that was made
	day   map[string]scheduler.Date                 // by visit: made on
}

// learn begins with what is on record.
func learn(w *town, seed uint64) *truth {
	h := &truth{seed: seed, last: map[int64]scheduler.Date{}, found: map[string]map[int64]scheduler.Difficulty{}, day: map[string]scheduler.Date{}}
	for _, club := range w.clubs {
		w.in(club, func(ctx context.Context, tx *store.Tx) error {
			c, err := tx.Club(ctx)
			if err != nil {
				return err
			}
			for _, a := range c.Apiaries {
				for _, hive := range a.Hives {
					for _, b := range hive.Boxes {
						h.last[b.ID] = b.SetUpOn
						for _, o := range scheduler.Effective(b.Openings) {
							h.last[b.ID] = max(h.last[b.ID], o.On)
						}
					}
				}
			}
			return nil
		})
	}
	return h
}

// draw draws lots about one thing: the same however much else is drawn.
func (h *truth) draw(what string) *rand.Rand {
	sum := fnv.New64a()
	sum.Write([]byte(what))
	return rand.New(rand.NewPCG(h.seed, sum.Sum64()))
}

// opened opens the boxes of a visit on a day; false when that was done.
func (h *truth) opened(v *store.VisitRecord, on scheduler.Date) bool {
	if h.found[v.UID] != nil {
		return false
	}
	h.day[v.UID] = on
	found := map[int64]scheduler.Difficulty{}
	for _, b := range v.Boxes {
		lots := rand.New(rand.NewPCG(h.seed, uint64(b.BoxID)))
		glue, days := lots.NormFloat64()*0.4, float64(on-h.last[b.BoxID])
		for range int(on) % 100 {
			lots.Float64() // another day, another lot
		}
		level := glue + 0.6*math.Log1p(days/10) + 0.5*lots.NormFloat64()
		found[b.BoxID] = scheduler.Difficulty(min(max(math.Round(level), 0), float64(scheduler.Stuck)))
		h.last[b.BoxID] = on
	}
	h.found[v.UID] = found
	return true
}
