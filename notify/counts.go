package notify

import "sync/atomic"

// Counts are how many messages came to what end in this process.
type Counts struct {
	Owed       int64 // recorded to be delivered
	Delivered  int64
	PassedOver int64 // at delivery: no longer useful
	Refused    int64
	GivenUp    int64
	Retried    int64 // attempts that failed for the time being
	Unsure     int64 // of those, broken off after the final dot: may arrive twice
}

type counts struct {
	owed, delivered, passedOver, refused, givenUp, retried, unsure atomic.Int64
}

// Counts returns the numbers so far, for metrics.
func (s *Service) Counts() Counts {
	c := &s.count
	return Counts{
		Owed: c.owed.Load(), Delivered: c.delivered.Load(), PassedOver: c.passedOver.Load(), Refused: c.refused.Load(),
		GivenUp: c.givenUp.Load(), Retried: c.retried.Load(), Unsure: c.unsure.Load(),
	}
}
