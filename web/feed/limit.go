package feed

import (
	"fmt"
	"time"

	"github.com/maypok86/otter/v2"
	"golang.org/x/time/rate"
)

// Guessing one of 2^160 tokens is hopeless; these bound what trying costs the
// database. Known links are not held up by it.
const (
	guessesPerSecond = 50
	guessesAtOnce    = 200
)

// limits holds one token bucket for each link that was asked for lately, and
// one for addresses that there are not.
type limits struct {
	links   *otter.Cache[key, *rate.Limiter]
	every   time.Duration
	burst   int
	guesses *rate.Limiter
}

func newLimits(perMinute int) *limits {
	return &limits{
		links: otter.Must(&otter.Options[key, *rate.Limiter]{
			MaximumSize:      50_000,
			ExpiryCalculator: otter.ExpiryWriting[key, *rate.Limiter](10 * time.Minute), // long after the bucket is full again
		}),
		every: time.Minute / time.Duration(perMinute), burst: perMinute,
		guesses: rate.NewLimiter(guessesPerSecond, guessesAtOnce),
	}
}

// tooOften says when to ask again.
type tooOften struct{ retryAfter time.Duration }

func (e *tooOften) Error() string { return fmt.Sprintf("asked too often; again in %s", e.retryAfter) }

// known takes one token of a link that is in memory, or was asked for lately.
// It reports whether there is such a link, or returns a *tooOften.
func (l *limits) known(k key, inMemory bool) (bool, error) {
	bucket, ok := l.links.GetIfPresent(k)
	switch {
	case !ok && !inMemory:
		return false, nil
	case !ok:
		bucket = l.admit(k)
	}
	if bucket.Allow() {
		return true, nil
	}
	return true, &tooOften{l.every}
}

// admit gives a link its bucket.
func (l *limits) admit(k key) *rate.Limiter {
	bucket, _ := l.links.SetIfAbsent(k, rate.NewLimiter(rate.Every(l.every), l.burst))
	return bucket
}

// unknown returns a *tooOften while too many addresses were tried that there
// are not.
func (l *limits) unknown() error {
	if l.guesses.Tokens() < 1 {
		return &tooOften{time.Second}
	}
	return nil
}

// wasUnknown counts one such address.
func (l *limits) wasUnknown() { l.guesses.Allow() }
