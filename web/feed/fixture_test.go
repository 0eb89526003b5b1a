package feed

import (
	"bytes"
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/store"
	"pryday/store/storetest"
	"pryday/testdata/testrun"
)

// clock stands on one civil instant until a test moves it; its real time runs.
type clock struct {
	mu    sync.Mutex
	civil time.Time
}

func (c *clock) Now() time.Time { return time.Now() }

func (c *clock) Civil() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.civil
}

func (c *clock) set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.civil = t
}

// fixture is an invented club in a database of its own, and a daemon that serves
// its calendars.
type fixture struct {
	*daemon
	database string
	club     int64
	member   int64 // Ilse Varga, who keeps the first apiary
	clock    *clock
	log      bytes.Buffer // of every daemon
	logLock  sync.Mutex
}

// daemon is one process that serves calendars, as far as these tests care.
type daemon struct {
	store  *store.Store
	feeds  *Feeds
	server *httptest.Server
}

// newFixture brings up a daemon on a club, planned for a spring morning.
func newFixture(t testing.TB, records *scheduler.Club) *fixture {
	t.Helper()
	b := &fixture{database: storetest.New(t), clock: &clock{civil: time.Date(2027, time.May, 3, 9, 0, 0, 0, time.UTC)}}
	b.daemon = b.another(t, b.database)
	var err error
	if b.club, err = b.store.CreateClub(t.Context(), "Low Weir Bees"); err != nil {
		t.Fatal(err)
	}
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		if _, err := tx.Import(ctx, records); err != nil {
			return err
		}
		if _, err := tx.ReplanAll(ctx, b.today()); err != nil {
			return err
		}
		members, err := tx.Members(ctx)
		b.member = members[0].ID
		return err
	})
	return b
}

// another brings up one more daemon on a database.
func (b *fixture) another(t testing.TB, database string) *daemon {
	t.Helper()
	d := &daemon{}
	var err error
	if d.store, err = store.Open(t.Context(), store.Config{URL: storetest.Serving(database), Apart: true, MaxConns: 4}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(d.store.Close)
	d.feeds = New(Config{
		Store: d.store, Clock: b.clock, PublicURL: &url.URL{Scheme: "https", Host: "bees.example"}, PerMinute: 100_000,
		Logger: slog.New(slog.NewTextHandler(b, &slog.HandlerOptions{Level: slog.LevelDebug})),
	})
	t.Cleanup(d.feeds.Close)
	mux := http.NewServeMux()
	d.feeds.Routes(mux)
	d.server = httptest.NewServer(mux)
	t.Cleanup(d.server.Close)
	testrun.Until(t, "the daemon hears", d.feeds.listener.trusted)
	return d
}

// Write takes the log.
func (b *fixture) Write(p []byte) (int, error) {
	b.logLock.Lock()
	defer b.logLock.Unlock()
	return b.log.Write(p)
}

func (b *fixture) logged() string {
	b.logLock.Lock()
	defer b.logLock.Unlock()
	return b.log.String()
}

func (b *fixture) today() scheduler.Date { return scheduler.DateOf(b.clock.Civil()) }

func (b *fixture) inClub(t testing.TB, fn func(context.Context, *store.Tx) error) {
	t.Helper()
	err := b.store.InClub(context.Background(), b.club, func(tx *store.Tx) error { return fn(context.Background(), tx) })
	if err != nil {
		t.Fatal(err)
	}
}

// link makes a link and returns its number and token.
func (b *fixture) link(t testing.TB, kind store.LinkKind, apiary int64, o store.LinkOptions) (int64, string) {
	t.Helper()
	var l *store.Link
	var token string
	b.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) {
		l, token, err = tx.CreateLink(ctx, kind, b.member, apiary, o)
		return err
	})
	return l.ID, token
}

// answer is what came back for one request.
type answer struct {
	status int
	header http.Header
	body   string
}

// get asks a daemon for a calendar. Headers go in pairs.
func (d *daemon) get(t testing.TB, token string, headers ...string) answer {
	t.Helper()
	return d.ask(t, http.MethodGet, token, headers...)
}

func (d *daemon) ask(t testing.TB, method, token string, headers ...string) answer {
	t.Helper()
	req, err := http.NewRequestWithContext(context.Background(), method, d.server.URL+"/calendar/"+token+".ics", nil)
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Accept-Encoding", "identity") // else the client asks for gzip by itself
	for i := 0; i < len(headers); i += 2 {
		req.Header.Set(headers[i], headers[i+1])
	}
	res, err := d.server.Client().Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer{res.StatusCode, res.Header, string(body)}
}

// calendar is get of what must be there.
func (d *daemon) calendar(t testing.TB, token string) string {
	t.Helper()
	a := d.get(t, token)
	if a.status != http.StatusOK {
		t.Fatalf("status %d: %s", a.status, a.body)
	}
	return a.body
}

// hears waits until a daemon has heard of all that was committed up to now.
func (d *daemon) hears(t testing.TB) {
	t.Helper()
	now := int64(time.Since(d.feeds.listener.began))
	testrun.Until(t, "a ping sent after this came back", func() bool { return d.feeds.listener.heardAt.Load() >= now })
}

// firstVisit is the next open visit of the club.
func (b *fixture) firstVisit(t testing.TB) (v store.VisitRecord) {
	t.Helper()
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		all, err := tx.Visits(ctx, store.VisitFilter{OpenOnly: true, From: b.today()})
		if err == nil && len(all) == 0 {
			t.Fatal("the club has no open visit")
		}
		v = all[0]
		return err
	})
	return v
}

// move puts the next visit on another day.
func (b *fixture) move(t testing.TB, days int) store.VisitRecord {
	t.Helper()
	v := b.firstVisit(t)
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.MoveVisit(ctx, v.ID, v.Sequence, v.On+scheduler.Date(days), b.today())
		return err
	})
	return v
}

// unfolded undoes the folding of content lines (RFC 5545, 3.1).
func unfolded(body string) string { return strings.ReplaceAll(body, "\r\n ", "") }

// forget drops all that a daemon holds of calendars.
func (d *daemon) forget() {
	d.feeds.cache.InvalidateAll()
	d.feeds.tags.InvalidateAll()
}
