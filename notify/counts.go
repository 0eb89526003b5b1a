package notify

import (
	"sync"
	"sync/atomic"
	"time"
)

// Counts are how many messages came to what end in this process, and how
// deciding what is owed went.
type Counts struct {
	Owed       int64 // recorded to be delivered
	Delivered  int64
	PassedOver int64 // at delivery: no longer useful
	Refused    int64
	GivenUp    int64
	Retried    int64 // attempts that failed for the time being
	Unsure     int64 // of those, broken off after the final dot: may arrive twice

	Ticks, TicksFailed int64
	LastTick           time.Time // that did not fail; zero before the first
	LastTickTook       time.Duration
}

type counts struct {
	owed, delivered, passedOver, refused, givenUp, retried, unsure atomic.Int64

	mutex         sync.Mutex // of what follows
	ticks, failed int64
	last          time.Time
	took          time.Duration
}

// ticked notes how deciding for every club went.
func (c *counts) ticked(at time.Time, took time.Duration, err error) {
	c.mutex.Lock()
	defer c.mutex.Unlock()
	if err != nil {
		c.failed++
		return
	}
	c.ticks++
	c.last, c.took = at, took
}

// Counts returns the numbers so far, for metrics.
func (s *Service) Counts() Counts {
	c := &s.count
	c.mutex.Lock()
	defer c.mutex.Unlock()
	return Counts{
		Ticks: c.ticks, TicksFailed: c.failed, LastTick: c.last, LastTickTook: c.took,
		Owed: c.owed.Load(), Delivered: c.delivered.Load(), PassedOver: c.passedOver.Load(), Refused: c.refused.Load(),
		GivenUp: c.givenUp.Load(), Retried: c.retried.Load(), Unsure: c.unsure.Load(),
	}
}
