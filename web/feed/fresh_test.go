package feed

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/store"
	"pryday/store/storetest"
	"pryday/testdata/testrun"
)

// What one daemon commits, the calendars of every daemon show.
func TestChangesShowOnEveryDaemon(t *testing.T) {
	b := newFixture(t, records())
	second := b.another(t, b.database)
	id, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	version, err := b.store.ClubOfLink(t.Context(), token)
	if err != nil || version != b.club {
		t.Fatalf("club %d, %v", version, err)
	}
	changes := []struct {
		name string
		make func(context.Context, *store.Tx) error
		want string
	}{
		{"a visit moved", func(ctx context.Context, tx *store.Tx) error {
			all, err := tx.Visits(ctx, store.VisitFilter{OpenOnly: true})
			if err != nil {
				return err
			}
			_, err = tx.MoveVisit(ctx, all[0].ID, all[0].Sequence, b.today()+9, b.today())
			return err
		}, "DTSTART;VALUE=DATE:20270512"},
		{"the club renamed", func(ctx context.Context, tx *store.Tx) error { return tx.RenameClub(ctx, "High Weir Bees") }, "X-WR-CALNAME:High Weir Bees"},
		{"a member renamed", func(ctx context.Context, tx *store.Tx) error {
			m, err := tx.Member(ctx, b.member)
			if err != nil {
				return err
			}
			m.Name = "Ilse Stone"
			return tx.UpdateMember(ctx, *m)
		}, "Ilse Stone"},
		{"the link changed", func(ctx context.Context, tx *store.Tx) error {
			return tx.UpdateLink(ctx, id, store.LinkOptions{Alarms: true})
		}, "BEGIN:VALARM"},
		{"a rule changed", func(ctx context.Context, tx *store.Tx) error {
			r := scheduler.DefaultRules()
			r.MinDays = 25
			_, err := tx.ApplyRules(ctx, store.RulesEdit{Rules: r, AuthorID: b.member}, b.today())
			return err
		}, ""},
	}
	for _, c := range changes {
		t.Run(c.name, func(t *testing.T) {
			for _, d := range []*daemon{b.daemon, second} {
				if body := unfolded(d.calendar(t, token)); c.want != "" && strings.Contains(body, c.want) {
					t.Fatalf("%q is there before the change", c.want)
				}
			}
			before := second.feeds.Counts().Renders
			b.inClub(t, c.make)
			testrun.Until(t, c.name, func() bool {
				return strings.Contains(unfolded(b.calendar(t, token)), c.want) && strings.Contains(unfolded(second.calendar(t, token)), c.want)
			})
			testrun.Until(t, "rendered anew", func() bool { second.calendar(t, token); return second.feeds.Counts().Renders > before })
		})
	}
	t.Run("nothing changed", func(t *testing.T) {
		var bodies []string
		for _, d := range []*daemon{b.daemon, second} {
			d.hears(t)
			bodies = append(bodies, d.calendar(t, token))
		}
		renders, queries := second.feeds.Counts().Renders, second.feeds.Counts().VersionQueries
		for range 50 {
			second.calendar(t, token)
		}
		if c := second.feeds.Counts(); c.Renders != renders || c.VersionQueries != queries {
			t.Errorf("50 readings cost %d renders and %d queries", c.Renders-renders, c.VersionQueries-queries)
		}
		if bodies[0] != bodies[1] {
			t.Error("two daemons differ")
		}
	})
}

// Memory is trusted while a ping came back within five seconds; after that
// each reading asks the database whether it is true.
func TestMemoryIsTrustedWhileTheEarHears(t *testing.T) {
	b := newFixture(t, records())
	w := storetest.NewWire(t, b.database)
	deaf := b.another(t, w.URL)
	_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	first := deaf.calendar(t, token)
	deaf.feeds.stop() // it pings no more; what it heard last grows old
	<-deaf.feeds.stopped
	hear := func(ago time.Duration) {
		deaf.feeds.listener.heardAt.Store(int64(time.Since(deaf.feeds.listener.began) - ago))
	}
	hear(trustFor - time.Second)
	queries := deaf.feeds.Counts().VersionQueries
	if deaf.calendar(t, token); deaf.feeds.Counts().VersionQueries != queries {
		t.Error("asked the database while the listener hears")
	}
	hear(trustFor + time.Millisecond)
	renders := deaf.feeds.Counts().Renders
	if deaf.calendar(t, token); deaf.feeds.Counts().VersionQueries != queries+1 || deaf.feeds.Counts().Renders != renders {
		t.Error("did not ask the database once while the listener is deaf")
	}
	b.move(t, 8)
	// One that a slow database keeps waiting shows what it has, so not always at once.
	testrun.Until(t, "a deaf daemon shows what has changed", func() bool { return deaf.calendar(t, token) != first })
}

// A connection that was lost and made again vouches for nothing that was
// rendered before.
func TestLostConnectionForgets(t *testing.T) {
	b := newFixture(t, records())
	w := storetest.NewWire(t, b.database)
	d := b.another(t, w.URL)
	_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	for i := range 3 {
		was := d.calendar(t, token)
		epoch := d.feeds.Counts().Connections
		w.Cut()
		b.move(t, 5+i) // told to nobody on this wire
		w.Mend()
		testrun.Until(t, "it hears again", func() bool { return d.feeds.Counts().Connections > epoch && d.feeds.listener.trusted() })
		testrun.Until(t, "the change shows", func() bool { return d.calendar(t, token) != was })
	}
}

// While the database is away, readers keep what they had, and those who have
// it get 304; afterwards all is as new.
func TestLastGoodCopyWhileTheDatabaseIsAway(t *testing.T) {
	for name, leave := range map[string]func(*storetest.Wire){"gone": (*storetest.Wire).Cut, "silent": (*storetest.Wire).Hang} {
		t.Run(name, func(t *testing.T) { lastGoodCopy(t, leave) })
	}
}

func lastGoodCopy(t *testing.T, leave func(*storetest.Wire)) {
	b := newFixture(t, records())
	w := storetest.NewWire(t, b.database)
	d := b.another(t, w.URL)
	_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	_, unread := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	good := d.get(t, token)
	leave(w)
	testrun.Until(t, "it hears no more, and knows why", func() bool { return !d.feeds.listener.trusted() && d.feeds.listener.outage.now() })
	asked := d.feeds.Counts().VersionQueries
	b.move(t, 6)
	for _, day := range []int{0, 1} { // and past midnight
		b.clock.set(b.clock.Civil().AddDate(0, 0, day))
		for range 3 {
			if a := d.get(t, token); a.status != http.StatusOK || a.body != good.body {
				t.Fatalf("status %d, the last good copy: %t", a.status, a.body == good.body)
			}
		}
	}
	if a := d.get(t, token, "If-None-Match", good.header.Get("ETag")); a.status != http.StatusNotModified {
		t.Errorf("who has it got %d", a.status)
	}
	if a := d.get(t, unread); a.status != http.StatusServiceUnavailable || a.header.Get("Retry-After") == "" {
		t.Errorf("one that was never read: %d, Retry-After %q", a.status, a.header.Get("Retry-After"))
	}
	if c := d.feeds.Counts(); c.Stale < 7 || c.Hears {
		t.Errorf("counted %+v", c)
	} else if c.VersionQueries != asked {
		t.Errorf("%d readings waited for a database that is known to be away", c.VersionQueries-asked)
	}
	w.Mend()
	testrun.Until(t, "it is as new", func() bool { return d.get(t, unread).status == http.StatusOK && d.calendar(t, token) != good.body })
	if strings.Contains(b.logged(), token) {
		t.Error("the log has an address in it")
	}
}

// Whoever has a calendar hears so when memory has let go of its bytes, without
// anybody making it anew; all others get the whole of it.
func TestTagsOutliveBytes(t *testing.T) {
	b := newFixture(t, records())
	_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	first := b.get(t, token)
	zipped := b.get(t, token, "Accept-Encoding", "gzip")
	tag, since := first.header.Get("ETag"), first.header.Get("Last-Modified")
	for _, c := range []struct {
		name    string
		status  int
		renders int64
		header  []string
	}{
		{"its tag", 304, 0, []string{"If-None-Match", tag}},
		{"the tag of its gzip", 304, 0, []string{"Accept-Encoding", "gzip", "If-None-Match", zipped.header.Get("ETag")}},
		{"its tag made weak by somebody between", 304, 0, []string{"If-None-Match", "W/" + tag}},
		{"its tag among others", 304, 0, []string{"If-None-Match", `"other", ` + tag}},
		{"its time", 304, 0, []string{"If-Modified-Since", since}},
		{"another tag", 200, 1, []string{"If-None-Match", `"other"`}},
		{"another tag and its time", 200, 1, []string{"If-None-Match", `"other"`, "If-Modified-Since", since}},
		{"an older time", 200, 1, []string{"If-Modified-Since", "Mon, 06 Jan 2020 00:00:00 GMT"}},
		{"no condition", 200, 1, nil},
		{"a part of it", 206, 1, []string{"Range", "bytes=0-9"}},
		{"only if it is another", 412, 1, []string{"If-Match", `"other"`}},
	} {
		b.feeds.cache.InvalidateAll()
		before := b.feeds.Counts().Renders
		a := b.get(t, token, c.header...)
		if n := b.feeds.Counts().Renders - before; a.status != c.status || n != c.renders {
			t.Errorf("who asks with %s got %d after %d renders, want %d after %d", c.name, a.status, n, c.status, c.renders)
		}
		switch {
		case a.status == http.StatusOK && a.body != first.body, a.status == http.StatusPartialContent && a.body != first.body[:10]:
			t.Errorf("who asks with %s got something else:\n%s", c.name, a.body)
		case a.status == http.StatusOK && (a.header.Get("ETag") != tag || a.header.Get("Last-Modified") != since):
			t.Errorf("who asks with %s hears of a change: %v", c.name, a.header)
		}
	}

	b.feeds.cache.InvalidateAll()
	b.move(t, 8)
	testrun.Until(t, "the change shows", func() bool { return b.get(t, token, "If-None-Match", tag).status == http.StatusOK })
	moved := b.get(t, token).header.Get("ETag")
	b.feeds.cache.InvalidateAll()
	b.clock.set(b.clock.Civil().AddDate(0, 0, 1))
	before := b.feeds.Counts().Renders
	if b.get(t, token, "If-None-Match", moved); b.feeds.Counts().Renders != before+1 {
		t.Error("a tag of yesterday was taken for one of today")
	}
}

// Without the database, who has a calendar whose bytes are dropped keeps it, and
// nobody gets an empty one.
func TestTagsWhileTheDatabaseIsAway(t *testing.T) {
	b := newFixture(t, records())
	w := storetest.NewWire(t, b.database)
	d := b.another(t, w.URL)
	_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	tag := d.get(t, token).header.Get("ETag")
	d.feeds.cache.InvalidateAll()
	w.Cut()
	testrun.Until(t, "it hears no more, and knows why", func() bool { return !d.feeds.listener.trusted() && d.feeds.listener.outage.now() })
	if a := d.get(t, token, "If-None-Match", tag); a.status != http.StatusNotModified {
		t.Errorf("who has it got %d", a.status)
	}
	if a := d.get(t, token); a.status != http.StatusServiceUnavailable || a.header.Get("Retry-After") == "" {
		t.Errorf("who does not have it got %d, Retry-After %q", a.status, a.header.Get("Retry-After"))
	}
}

// However many ask at once, one renders.
func TestOneRendersForAll(t *testing.T) {
	b := newFixture(t, records())
	_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	before := b.feeds.Counts().Renders
	var wg sync.WaitGroup
	for range 40 {
		wg.Go(func() { b.get(t, token) })
	}
	wg.Wait()
	if n := b.feeds.Counts().Renders - before; n < 1 || n > 5 {
		t.Errorf("%d renders for 40 requests at once", n)
	}
}

// A reading that begins after a change was committed shows it, on the daemon
// that heard of it, while others read and write without rest.
func TestNobodyReadsThePast(t *testing.T) {
	b := newFixture(t, records())
	second := b.another(t, b.database)
	_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	var committed atomic.Int64 // the last name given to the club
	named := func(body string) (n int64) {
		_, after, _ := strings.Cut(unfolded(body), "X-WR-CALNAME:Club ")
		fmt.Sscanf(after, "%d", &n)
		return n
	}
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var wg sync.WaitGroup
	for _, d := range []*daemon{b.daemon, second, second} {
		wg.Go(func() {
			for last := int64(0); ctx.Err() == nil; {
				n := named(d.calendar(t, token))
				if n < last {
					t.Errorf("read %d after %d", n, last)
					return
				}
				last = n
			}
		})
	}
	for n := int64(1); !t.Failed() && (n <= 50 || second.feeds.Counts().Renders < 20); n++ {
		b.inClub(t, func(ctx context.Context, tx *store.Tx) error { return tx.RenameClub(ctx, fmt.Sprint("Club ", n)) })
		committed.Store(n)
	}
	cancel()
	wg.Wait()
	for _, d := range []*daemon{b.daemon, second} {
		testrun.Until(t, "the last name is there", func() bool { return named(d.calendar(t, token)) == committed.Load() })
	}
}

// What one calendar needs must not put all of memory out, and memory holds
// no more than it may.
func TestMemoryIsBounded(t *testing.T) {
	b := newFixture(t, records())
	small := New(Config{
		Store: b.store, Clock: b.clock, PublicURL: b.feeds.cfg.PublicURL, Logger: b.feeds.cfg.Logger, CacheBytes: 60_000, PerMinute: 1000,
	})
	t.Cleanup(small.Close)
	testrun.Until(t, "it hears", small.listener.trusted)
	mux := http.NewServeMux()
	small.Routes(mux)
	b.server.Config.Handler = mux
	for range 30 {
		_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{Far: true})
		b.calendar(t, token)
	}
	testrun.Until(t, "what is too much goes", func() bool {
		small.cache.CleanUp()
		small.tags.CleanUp()
		c := small.Counts()
		return c.CachedBytes <= 60_000+30_000 && c.Cached > 0
	})
}
