package season

import (
	"context"
	"log/slog"
	"math/rand/v2"
	netmail "net/mail"
	"net/url"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/store"
	"pryday/store/records"
	"pryday/store/storetest"
	"pryday/testdata"
	"pryday/testdata/testrun"
	"pryday/web"
)

// town is an installation with one or more clubs, and the people in them.
type town struct {
	testing.TB
	clock  *storyClock
	store  *store.Store
	notify *notify.Service
	pages  *web.Server
	owner  *pgx.Conn // sees every club
	post   *postbox
	clubs  []int64
	people map[string]*person // by address
	hives  *truth
	ledger *ledger
}

// storyClock tells the real time, and a civil time that the story sets.
type storyClock struct{ civil atomic.Pointer[time.Time] }

func (c *storyClock) Now() time.Time        { return time.Now() }
func (c *storyClock) Civil() time.Time      { return *c.civil.Load() }
func (c *storyClock) set(t time.Time)       { c.civil.Store(&t) }
func (w *town) today() scheduler.Date       { return scheduler.DateOf(w.clock.Civil().In(zone)) }
func (w *town) draw(what string) *rand.Rand { return w.hives.draw(what) }

// zone is where the demonstration's club is.
var zone = func() *time.Location {
	z, err := time.LoadLocation("America/New_York")
	if err != nil {
		panic(err)
	}
	return z
}()

// demoClub is the demonstration's club, read anew, with its first day.
func demoClub(t testing.TB) (*scheduler.Club, scheduler.Date) {
	t.Helper()
	day, err := scheduler.ParseDate(testdata.DemoDay)
	if err != nil {
		t.Fatal(err)
	}
	c, err := records.Parse(testdata.Demo)
	if err != nil {
		t.Fatal(err)
	}
	return c, day
}

// newTown moves clubs in on a day. Everybody has the same habit at first; the
// seed is of what is drawn by lot.
func newTown(t testing.TB, seed uint64, from scheduler.Date, h habit, clubs ...*scheduler.Club) *town {
	t.Helper()
	ctx := t.Context()
	address := storetest.New(t)
	w := &town{TB: t, clock: &storyClock{}, people: map[string]*person{}, post: &postbox{}}
	w.clock.set(from.At(0, zone))
	var err error
	if w.store, err = store.Open(ctx, store.Config{URL: storetest.Serving(address), Apart: true, MaxConns: 6}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(w.store.Close)
	if w.owner, err = pgx.Connect(ctx, address); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { w.owner.Close(context.Background()) })
	for _, c := range clubs {
		w.settle(ctx, c, h)
	}
	w.hives = learn(w, seed)
	w.ledger = newLedger(from)
	w.open(ctx)
	return w
}

// settle imports a club and knows its people.
func (w *town) settle(ctx context.Context, c *scheduler.Club, h habit) {
	id, err := w.store.CreateClub(ctx, c.Name)
	if err == nil {
		err = w.store.InClub(ctx, id, func(tx *store.Tx) error {
			_, err := tx.Import(ctx, c)
			return err
		})
	}
	if err != nil {
		w.Fatal(err)
	}
	w.clubs = append(w.clubs, id)
	for _, m := range c.Members {
		if w.people[m.Email] == nil {
			w.people[m.Email] = &person{town: w, address: m.Email, habit: h, latest: map[string]*letter{}}
		}
	}
}

// open starts the service and its pages, as the daemon does.
func (w *town) open(ctx context.Context) {
	public := &url.URL{Scheme: "https", Host: "bees.club.test"}
	log := slog.New(slog.NewTextHandler(testLog{w}, &slog.HandlerOptions{Level: slog.LevelError}))
	var err error
	w.notify, err = notify.New(ctx, notify.Config{
		Store: w.store, Sender: w.post, Clock: w.clock, PublicURL: public, From: netmail.Address{Address: "reminders@club.test"}, Logger: log,
	})
	if err != nil {
		w.Fatal(err)
	}
	if w.pages, err = web.New(web.Config{Store: w.store, Clock: w.clock, PublicURL: public, Logger: log, Notify: w.notify}); err != nil {
		w.Fatal(err)
	}
	w.Cleanup(w.pages.Close)
	if err := w.notify.Start(ctx); err != nil {
		w.Fatal(err)
	}
	w.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := w.notify.Stop(ctx); err != nil {
			w.Errorf("stop: %v", err)
		}
	})
}

// testLog fails the test on what the service logs as an error.
type testLog struct{ t testing.TB }

func (l testLog) Write(b []byte) (int, error) {
	l.t.Errorf("the service logged: %s", b)
	return len(b), nil
}

// tick lets the daemon decide at a time of day, and waits until its jobs have
// planned and delivered.
func (w *town) tick(clock scheduler.ClockTime) {
	w.Helper()
	w.clock.set(w.today().At(int(clock), zone))
	if _, err := w.notify.Tick(w.Context()); err != nil {
		w.Fatalf("%s: %v", w.clock.Civil(), err)
	}
	testrun.Until(w, "no job waits", func() (rest bool) {
		err := w.owner.QueryRow(w.Context(), `SELECT NOT EXISTS (SELECT FROM river_job WHERE state IN ('available', 'running', 'pending', 'retryable'))`).Scan(&rest)
		if err != nil {
			w.Fatal(err)
		}
		return rest
	})
}

// live plays days: each is planned in the night, mails go out in the morning,
// people answer at noon, go, and write down in the evening what they found.
func (w *town) live(days int) {
	w.Helper()
	first := w.today()
	for today := first; today < first+scheduler.Date(days); today++ {
		w.clock.set(today.At(0, zone))
		w.tick(5)
		w.ledger.look(w)
		w.tick(7*60 + 5)
		w.handOut()
		w.at(12*60, (*person).answer)
		w.at(18*60, (*person).visit)
		w.ledger.look(w)
		if _, err := w.store.Clear(w.Context(), w.clock.Civil()); err != nil {
			w.Fatal(err)
		}
	}
	w.ledger.close(w)
}

// at lets everybody do something at a time of day, and those whom it concerns
// hear of it.
func (w *town) at(clock scheduler.ClockTime, do func(*person)) {
	w.Helper()
	w.clock.set(w.today().At(int(clock), zone))
	before := w.ledger.taps
	for _, address := range w.addresses() {
		do(w.people[address])
	}
	if w.ledger.taps > before {
		w.tick(clock + 5)
		w.handOut()
	}
}
