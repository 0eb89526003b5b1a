package feed

import (
	"context"
	"sync"
	"time"

	"pryday/store"
)

// flushEvery is how often readings are written down.
const flushEvery = time.Minute

// readings gathers who read which link since the last flush.
type readings struct {
	mu    sync.Mutex
	since map[linkID]*store.Fetch
}

type linkID struct{ club, link int64 }

// note counts one reading.
func (r *readings) note(club, link int64, client string, at time.Time) {
	r.mu.Lock()
	defer r.mu.Unlock()
	f := r.since[linkID{club, link}]
	if f == nil {
		if r.since == nil {
			r.since = map[linkID]*store.Fetch{}
		}
		f = &store.Fetch{ClubID: club, LinkID: link}
		r.since[linkID{club, link}] = f
	}
	f.At, f.Client = at, client
	f.Count++
}

// take returns what gathered and begins anew.
func (r *readings) take() []store.Fetch {
	r.mu.Lock()
	defer r.mu.Unlock()
	out := make([]store.Fetch, 0, len(r.since))
	for _, f := range r.since {
		out = append(out, *f)
	}
	clear(r.since)
	return out
}

// giveBack keeps for the next time what could not be written.
func (r *readings) giveBack(fetches []store.Fetch) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, f := range fetches {
		id := linkID{f.ClubID, f.LinkID}
		if later := r.since[id]; later != nil {
			later.Count += f.Count
		} else {
			r.since[id] = &f
		}
	}
}

// keepReadings writes readings down once a minute until ctx ends, and then
// once more.
func (f *Feeds) keepReadings(ctx context.Context) {
	tick := time.NewTicker(flushEvery)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			f.flush()
		case <-ctx.Done():
			f.flush()
			return
		}
	}
}

func (f *Feeds) flush() {
	fetches := f.readings.take()
	if len(fetches) == 0 {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	if err := f.cfg.Store.FlushFetches(ctx, fetches); err != nil {
		f.readings.giveBack(fetches)
		f.cfg.Logger.Warn("readings of calendars not written down yet", "links", len(fetches), "err", err)
	}
}
