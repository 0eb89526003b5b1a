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

// link takes one token of a link, or returns a *tooOften.
func (l *limits) link(k key) error {
	bucket, ok := l.links.GetIfPresent(k)
	if !ok {
		bucket, _ = l.links.SetIfAbsent(k, rate.NewLimiter(rate.Every(l.every), l.burst))
	}
	if bucket.Allow() {
		return nil
	}
	return &tooOften{l.every}
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
