package feed

import (
	"sync/atomic"
	"time"
)

// Counts are what the feeds of this process did, for metrics. No number is
// told apart by link, club or client.
type Counts struct {
	Answers        map[int]int64 // by status
	Renders        int64
	Parts          int64 // of those, for some apiaries alone, with what was kept of the others
	RenderFailures int64
	RenderTime     time.Duration // of all renders together
	Stale          int64         // answers from the last good copy
	VersionQueries int64         // answers for which the database was asked whether memory is true
	Cached         int           // calendars in memory
	Tags           int           // calendars of which at least the tag is
	CachedBytes    uint64        // of both
	Connections    int64         // that the listener made
	Hears          bool          // the listener is trusted
}

var statuses = [...]int{200, 206, 304, 404, 405, 410, 412, 416, 429, 503}

type counters struct {
	answers                                                      [len(statuses)]atomic.Int64
	renders, parts, failures, nanoseconds, stale, versionQueries atomic.Int64
}

func (c *counters) add(status int) {
	for i, s := range statuses {
		if s == status {
			c.answers[i].Add(1)
			return
		}
	}
}

func (c *counters) rendered(took time.Duration, err error) {
	c.renders.Add(1)
	c.nanoseconds.Add(int64(took))
	if err != nil {
		c.failures.Add(1)
	}
}

// Counts returns the numbers so far.
func (f *Feeds) Counts() Counts {
	c := Counts{
		Answers: map[int]int64{}, Renders: f.count.renders.Load(), Parts: f.count.parts.Load(), RenderFailures: f.count.failures.Load(),
		RenderTime: time.Duration(f.count.nanoseconds.Load()), Stale: f.count.stale.Load(),
		VersionQueries: f.count.versionQueries.Load(), Cached: f.cache.EstimatedSize(), Tags: f.tags.EstimatedSize(), CachedBytes: f.cache.WeightedSize() + f.tags.WeightedSize(),
		Connections: f.listener.epoch.Load(), Hears: f.listener.trusted(),
	}
	for i, s := range statuses {
		c.Answers[s] = f.count.answers[i].Load()
	}
	return c
}
