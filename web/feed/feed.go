// Package feed serves calendar addresses: a link's visits as an iCalendar
// file, from memory wherever memory is known to be true.
//
// A request goes one way: link -> its limit -> cache, checked by the listener or the
// database -> render, when neither vouches for the copy -> answer. The listener
// listens to what every daemon commits.
package feed

import (
	"context"
	"crypto/sha256"
	"errors"
	"log/slog"
	"net/http"
	"net/url"
	"sync"
	"time"

	"github.com/maypok86/otter/v2"
	"golang.org/x/sync/singleflight"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/store"
	"pryday/web/limit"
)

// Config is what feeds need to know.
type Config struct {
	Store      *store.Store
	Clock      notify.Clock
	PublicURL  *url.URL // where people reach the service
	Logger     *slog.Logger
	Signer     *notify.Signer // of the entries in members' own calendars; nil: their pages ask to sign in
	PerMinute  int            // answers to one link, after a burst of as many; 0 means 60
	CacheBytes uint64         // of calendars kept in memory, and half of it more for their tags; 0 means 64 MB, and tags of some 40,000
	Proxies    limit.Proxies  // that say whom they ask for

	Took func(time.Duration) // is told how long each answer took; nil when nobody asks
}

// key is the hash of a token: memory holds no addresses.
type key [sha256.Size]byte

// Feeds answers GET and HEAD of calendar addresses. It is safe for concurrent
// use.
type Feeds struct {
	cfg      Config
	listener *listener
	cache    *otter.Cache[key, *entry]
	tags     *otter.Cache[key, *entry] // of calendars without their bytes, many more than the cache holds
	flight   singleflight.Group
	limits   *limits
	guesses  *limit.Buckets // of addresses that there are not, by who tries
	readings readings
	count    counters
	stop     context.CancelFunc
	stopped  chan struct{}
	ballast  []byte
}

// ballast is room for the garbage collector. Little is alive in a daemon at rest, so
// thousands of short answers a second would make the collector run dozens of times in
// it, for a fifth of all time. It runs when what is alive has doubled, and counts this,
// which nobody touches and which so takes no memory: as long as it is made once, of
// memory that nobody had before, which need not be cleared.
var ballast = sync.OnceValue(func() []byte { return make([]byte, 48<<20) })

// New begins to listen for changes. Close it when done.
func New(cfg Config) *Feeds {
	if cfg.PerMinute == 0 {
		cfg.PerMinute = 60
	}
	if cfg.CacheBytes == 0 {
		cfg.CacheBytes = 64 << 20
	}
	ctx, cancel := context.WithCancel(context.Background())
	f := &Feeds{
		cfg: cfg, listener: newListener(cfg.Store, cfg.Logger), limits: newLimits(cfg.PerMinute), guesses: limit.New(guessEvery, guessesAtOnce), stop: cancel, stopped: make(chan struct{}),
		ballast: ballast(),
		cache:   inMemory(cfg.CacheBytes), tags: inMemory(cfg.CacheBytes / 2),
	}
	listening := make(chan struct{})
	go func() { defer close(listening); f.listener.run(ctx) }()
	go func() { defer close(f.stopped); f.keepReadings(ctx); <-listening }()
	return f
}

// inMemory holds calendars of so many bytes together.
func inMemory(most uint64) *otter.Cache[key, *entry] {
	return otter.Must(&otter.Options[key, *entry]{MaximumWeight: most, Weigher: func(_ key, e *entry) uint32 { return e.weight() }})
}

// Close notes the last readings and stops listening.
func (f *Feeds) Close() {
	f.stop()
	<-f.stopped
	f.limits.links.StopAllGoroutines() // memory without an expiry has none
}

// serve answers one request for a calendar. It sets no cookie, and neither
// logs nor counts by address.
func (f *Feeds) serve(w http.ResponseWriter, r *http.Request) {
	if f.cfg.Took != nil {
		defer func(began time.Time) { f.cfg.Took(time.Since(began)) }(time.Now())
	}
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD") // RFC 9110, 15.5.6
		f.refuse(w, http.StatusMethodNotAllowed, "calendars are only read here", 0)
		return
	}
	token, isCalendar := tokenOf(r)
	if !isCalendar {
		f.refuse(w, http.StatusNotFound, "no calendar has this address", 0)
		return
	}
	k := key(sha256.Sum256([]byte(token)))
	e, err := f.current(r, k, token)
	var late *tooOften
	switch {
	case errors.As(err, &late):
		f.refuse(w, http.StatusTooManyRequests, "asked too often", late.retryAfter)
	case errors.Is(err, store.ErrNotFound):
		if wait := f.guesses.Take(f.cfg.Proxies.Source(r)); wait > 0 {
			f.refuse(w, http.StatusTooManyRequests, "asked too often", wait)
			return
		}
		f.refuse(w, http.StatusNotFound, "no calendar has this address", 0)
	case err != nil:
		f.refuse(w, http.StatusServiceUnavailable, "the calendar cannot be made at present", time.Minute)
	case e.gone:
		f.refuse(w, http.StatusGone, "this calendar address has been withdrawn", 0)
	default:
		f.readings.note(e.club, e.link, r.UserAgent(), f.cfg.Clock.Now())
		f.count.add(e.answer(w, r))
	}
}

// current returns the calendar of a link as it is now, or as much of it as answers
// r: from memory when that is known to be true, else rendered anew, or its last good
// copy while the database is away. It returns store.ErrNotFound or a *tooOften.
func (f *Feeds) current(r *http.Request, k key, token string) (*entry, error) {
	ctx := r.Context()
	old, known := f.held(k)
	if err := f.limits.known(k, known); err != nil {
		return nil, err
	}
	suffices := known && old.suffices(r)
	if suffices {
		fresh, err := f.fresh(ctx, old)
		if err != nil {
			return f.lastGood(old, err), nil
		}
		if fresh {
			return old, nil
		}
	}
	for range 3 {
		e, err := f.renderSoon(k, token, old, suffices)
		switch {
		case errors.Is(err, store.ErrNotFound):
			f.cache.Invalidate(k)
			f.tags.Invalidate(k)
			return nil, err
		case err != nil && suffices:
			return f.lastGood(old, err), nil
		case err != nil:
			switch {
			case errors.Is(err, store.ErrAway): // somebody has heard
			case store.Away(err):
				f.cfg.Logger.Warn("the database is away, and a calendar is not in memory", "err", err)
			default:
				f.cfg.Logger.Error("calendar failed", "err", err)
			}
			return nil, err
		}
		f.limits.admit(k)
		// Another request's rendering may have begun before a change that this
		// request must see.
		if e.version >= f.listener.version(e.club) || ctx.Err() != nil {
			return e, nil
		}
		old, suffices = e, true
	}
	return old, nil
}

// held returns what memory holds of a calendar: all of it, or its tag.
func (f *Feeds) held(k key) (*entry, bool) {
	if e, ok := f.cache.GetIfPresent(k); ok {
		return e, true
	}
	return f.tags.GetIfPresent(k)
}

// remember holds a calendar in memory, and its tag for when there is no room for more:
// most who ask have it already, and need not be sent what would first have to be made.
func (f *Feeds) remember(k key, e *entry) {
	f.cache.Set(k, e)
	f.tags.Set(k, e.bare())
}

// fresh reports whether an entry is what would be rendered now.
func (f *Feeds) fresh(ctx context.Context, e *entry) (bool, error) {
	if e.day != f.today(e.zone) || e.epoch != f.listener.epoch.Load() {
		return false, nil
	}
	if f.listener.trusted() {
		return e.version >= f.listener.version(e.club), nil
	}
	if f.listener.outage.now() {
		return false, store.ErrAway
	}
	f.count.versionQueries.Add(1)
	version, err := soon(f.listener, func() (int64, error) { return f.queryVersion(ctx, e.club) })
	if errors.Is(err, store.ErrNotFound) {
		return false, nil
	}
	return err == nil && version == e.version, err
}

func (f *Feeds) queryVersion(ctx context.Context, club int64) (version int64, err error) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 2*time.Second)
	defer cancel()
	err = f.cfg.Store.InSnapshot(ctx, club, func(tx *store.Tx) (err error) {
		version, err = tx.FeedVersion(ctx)
		return err
	})
	switch {
	case err == nil:
		f.listener.raise(club, version)
	case store.Away(err):
		f.listener.outage.begin()
	}
	return version, err
}

// today is the civil day in the zone of a calendar.
func (f *Feeds) today(zone *time.Location) scheduler.Date {
	return scheduler.DateOf(f.cfg.Clock.Civil().In(zone))
}
