package notify_test

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"log/slog"
	netmail "net/mail"
	"net/url"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
	"pryday/store/storetest"
)

// fixedClock stands on one civil instant; its real time runs, ahead of ours.
type fixedClock struct {
	civil time.Time
	ahead time.Duration
}

func (c *fixedClock) Now() time.Time   { return time.Now().Add(c.ahead) }
func (c *fixedClock) Civil() time.Time { return c.civil }

// fixture is an invented club in a database of its own.
type fixture struct {
	url    string
	store  *store.Store
	club   int64
	member int64 // Kay, who looks after the orchard
	clock  *fixedClock
}

// newFixture makes a club with two apiaries in two zones, three hives and three
// members, planned for a spring morning after everybody's hour.
func newFixture(t testing.TB) *fixture {
	t.Helper()
	return fixtureAt(t, storetest.From(t, "mailed", fillMailed))
}

// countedFixture is newFixture with the round trips to its database counted.
func countedFixture(t testing.TB) (*fixture, *storetest.Trips) {
	t.Helper()
	address, trips := storetest.Count(t, storetest.From(t, "mailed", fillMailed))
	return fixtureAt(t, address), trips
}

func fixtureAt(t testing.TB, url string) *fixture {
	t.Helper()
	b := &fixture{url: url, clock: &fixedClock{civil: morning}}
	var err error
	if b.store, err = store.Open(t.Context(), store.Config{URL: storetest.Serving(b.url), Apart: true, MaxConns: 6}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.store.Close)
	b.club, b.member = mailed.club, mailed.member
	return b
}

// morning is when a fixture's club was planned.
var morning = time.Date(2027, time.May, 3, 9, 0, 0, 0, time.UTC)

// mailed is what the numbers of a fixture's club are in every clone.
var mailed struct{ club, member int64 }

func fillMailed(url string) error {
	ctx := context.Background()
	st, err := store.Open(ctx, store.Config{URL: storetest.Serving(url), Apart: true})
	if err != nil {
		return err
	}
	defer st.Close()
	if mailed.club, err = st.CreateClub(ctx, "Hollow Lane Bees"); err != nil {
		return err
	}
	return st.InClub(ctx, mailed.club, func(tx *store.Tx) error {
		if _, err := tx.Import(ctx, records()); err != nil {
			return err
		}
		if _, err := tx.ReplanAll(ctx, scheduler.DateOf(morning)); err != nil {
			return err
		}
		members, err := tx.Members(ctx)
		if err == nil {
			mailed.member = members[0].ID
		}
		return err
	})
}

func (b *fixture) today() scheduler.Date { return scheduler.DateOf(b.clock.civil) }

func (b *fixture) inClub(t testing.TB, fn func(context.Context, *store.Tx) error) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	defer cancel()
	if err := b.store.InClub(ctx, b.club, func(tx *store.Tx) error { return fn(ctx, tx) }); err != nil {
		t.Fatal(err)
	}
}

// records are the club's: a hard opening a year ago and nothing since, so
// that visits are due at once.
func records() *scheduler.Club {
	d := func(y int, m time.Month, day int) scheduler.Date { return scheduler.NewDate(y, m, day) }
	box := func(id int64, name string, hard scheduler.Difficulty) scheduler.Box {
		return scheduler.Box{ID: id, Name: name, Kind: "deep", SetUpOn: d(2025, time.May, 1), Openings: []scheduler.Opening{
			{ID: fmt.Sprintf("00000000-0000-4000-8000-%012d", id), On: d(2026, time.July, 11), Joint: hard, Frames: scheduler.Light, Scraped: scheduler.ScrapedPart},
		}}
	}
	rules := scheduler.DefaultRules()
	rules.Reminders.DaysBefore = []int{14, 7, 1}
	return &scheduler.Club{
		Name: "Hollow Lane Bees", Rules: rules,
		Members: []scheduler.Member{
			{ID: 1, Name: "Kay Orrin", Email: "kay@keepers.test", Role: scheduler.Keeper},
			{ID: 2, Name: "Lou Fenn", Email: "lou@keepers.test", Role: scheduler.Keeper, Timezone: "Europe/Berlin"},
			{ID: 3, Name: "Mo Tarn", Email: "mo@keepers.test", Role: scheduler.Organiser},
		},
		Apiaries: []scheduler.Apiary{
			{
				ID: 1, Name: "Orchard", Latitude: 52.1, Longitude: -3.4, ElevationM: 210, Timezone: "Europe/London", AccessNotes: "gate code 4711", Keepers: []int64{1},
				Hives: []scheduler.Hive{
					{ID: 1, Name: "Larch", Boxes: []scheduler.Box{box(1, "R14", scheduler.Hard), box(2, "R15", scheduler.Firm)}},
					{ID: 2, Name: "Alder", Boxes: []scheduler.Box{box(3, "R16", scheduler.Stuck)}},
				},
			},
			{
				ID: 2, Name: "Quarry", Latitude: 51.2, Longitude: 9.1, ElevationM: 300, Timezone: "Europe/Berlin", Keepers: []int64{2},
				Hives: []scheduler.Hive{{ID: 3, Name: "Rowan", Boxes: []scheduler.Box{box(4, "B01", scheduler.Hard)}}},
			},
		},
	}
}

// service is a notify.Service on the bed, not started.
func (b *fixture) service(t testing.TB, s notify.Sender) *notify.Service {
	t.Helper()
	n, err := newService(t.Context(), b.store, s, b.clock)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func newService(ctx context.Context, st *store.Store, s notify.Sender, clock notify.Clock) (*notify.Service, error) {
	level := slog.LevelError + 4
	if os.Getenv("PRYDAY_TEST_LOG") != "" {
		level = slog.LevelDebug
	}
	out := io.Writer(os.Stderr)
	return notify.New(ctx, notify.Config{
		Store: st, Sender: s, Clock: clock, PublicURL: &url.URL{Scheme: "https", Host: "bees.club.test"},
		From: netmail.Address{Address: "reminders@club.test"}, Logger: slog.New(slog.NewTextHandler(out, &slog.HandlerOptions{Level: level})),
	})
}

// start runs a service until the test ends.
func start(t testing.TB, n *notify.Service) {
	t.Helper()
	if err := n.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		if err := n.Stop(ctx); err != nil {
			t.Errorf("stop: %v", err)
		}
	})
}

// messages lists every message of the club, the oldest first.
func (b *fixture) messages(t testing.TB) []store.Message {
	t.Helper()
	var all []store.Message
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		all = nil
		for before := int64(0); ; {
			page, err := tx.Messages(ctx, store.MessageFilter{Before: before, Limit: 1000})
			if err != nil {
				return err
			}
			if len(page) == 0 {
				slices.Reverse(all)
				return nil
			}
			all = append(all, page...)
			before = page[len(page)-1].ID
		}
	})
	return all
}

func (b *fixture) message(t testing.TB, id int64) *store.Message {
	t.Helper()
	var m *store.Message
	b.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) {
		m, err = tx.Message(ctx, id)
		return err
	})
	return m
}

// visit is the first one to come at the orchard.
func (b *fixture) visit(t testing.TB) (first store.VisitRecord) {
	t.Helper()
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		visits, err := tx.Visits(ctx, store.VisitFilter{OpenOnly: true, From: b.today()})
		if err == nil && len(visits) == 0 {
			err = fmt.Errorf("the club has no visit")
		}
		if err == nil {
			first = slices.MinFunc(visits, func(a, b store.VisitRecord) int {
				return cmp.Or(cmp.Compare(a.ApiaryID, b.ApiaryID), cmp.Compare(a.On, b.On))
			})
		}
		return err
	})
	return first
}

// oweReminders records n reminders of one visit, each with its job.
func (b *fixture) oweReminders(t testing.TB, n int) []store.Message {
	t.Helper()
	v := b.visit(t)
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		messages := make([]owed.Message, n)
		for i := range messages {
			messages[i] = owed.Message{
				Key: fmt.Sprintf("test/%d", i), Kind: scheduler.DigestMessage, MemberID: b.member, On: b.today(), Reason: owed.BecauseDaysBefore,
				Items: []owed.Item{{Kind: scheduler.DigestMessage, Because: owed.BecauseDaysBefore, VisitID: v.ID, VisitUID: v.UID, ApiaryID: v.ApiaryID, VisitOn: v.On}},
			}
		}
		count, err := tx.Owe(ctx, messages, time.Time{})
		if err == nil && count.New != n {
			err = fmt.Errorf("%d of %d messages are new", count.New, n)
		}
		return err
	})
	return b.messages(t)
}

// allSent reports whether no message is owed any more.
func (b *fixture) allSent(t testing.TB) bool {
	t.Helper()
	var owed []store.Message
	b.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) {
		owed, err = tx.Messages(ctx, store.MessageFilter{State: store.Owed, Limit: 1})
		return err
	})
	return len(owed) == 0
}

// exec runs a statement as the owner of the tables.
func (b *fixture) exec(t testing.TB, sql string) {
	t.Helper()
	b.asOwner(t, func(ctx context.Context, conn *pgx.Conn) error {
		_, err := conn.Exec(ctx, sql)
		return err
	})
}

// query reads one value as the owner of the tables.
func (b *fixture) query(t testing.TB, sql string, value any) {
	t.Helper()
	b.asOwner(t, func(ctx context.Context, conn *pgx.Conn) error { return conn.QueryRow(ctx, sql).Scan(value) })
}

func (b *fixture) asOwner(t testing.TB, do func(context.Context, *pgx.Conn) error) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	conn, err := pgx.Connect(ctx, b.url)
	if err == nil {
		defer conn.Close(ctx)
		err = do(ctx, conn)
	}
	if err != nil {
		t.Fatal(err)
	}
}
