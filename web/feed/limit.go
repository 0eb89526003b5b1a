package feed

import (
	"fmt"
	"time"

	"github.com/maypok86/otter/v2"
	"golang.org/x/time/rate"
)

// Guessing one of 2^160 tokens is hopeless; these bound what each source that
// tries may cost the database. They are counted after the look-up: whoever
// knows an address is never held up by others' guesses.
const (
	guessEvery    = 2 * time.Second
	guessesAtOnce = 60
)

// limits holds one token bucket for each link that was asked for lately.
type limits struct {
	links *otter.Cache[key, *rate.Limiter]
	every time.Duration
	burst int
}

func newLimits(perMinute int) *limits {
	return &limits{
		links: otter.Must(&otter.Options[key, *rate.Limiter]{
			MaximumSize:      50_000,
			ExpiryCalculator: otter.ExpiryWriting[key, *rate.Limiter](10 * time.Minute), // long after the bucket is full again
		}),
		every: time.Minute / time.Duration(perMinute), burst: perMinute,
	}
}

// tooOften says when to ask again.
type tooOften struct{ retryAfter time.Duration }

func (e *tooOften) Error() string { return fmt.Sprintf("asked too often; again in %s", e.retryAfter) }

// known takes one token of a link that is in memory, or was asked for lately.
// It returns a *tooOften where there is none left.
func (l *limits) known(k key, inMemory bool) error {
	bucket, ok := l.links.GetIfPresent(k)
	switch {
	case !ok && !inMemory:
		return nil
	case !ok:
		bucket = l.admit(k)
	}
	if bucket.Allow() {
		return nil
	}
	return &tooOften{l.every}
}

// admit gives a link its bucket.
func (l *limits) admit(k key) *rate.Limiter {
	bucket, _ := l.links.SetIfAbsent(k, rate.NewLimiter(rate.Every(l.every), l.burst))
	return bucket
}
