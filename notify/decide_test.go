package notify_test

import (
	"context"
	"strings"
	"sync"
	"testing"
	"time"

	"pryday/notify"
	"pryday/notify/smtp"
	"pryday/scheduler"
	"pryday/store"
	"pryday/testdata/testrun"
)

// nowhere takes every letter and keeps it.
type nowhere struct {
	mu      sync.Mutex
	letters []*smtp.Letter
}

func (n *nowhere) Send(_ context.Context, l *smtp.Letter) smtp.Outcome {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.letters = append(n.letters, l)
	return smtp.Outcome{Verdict: smtp.Delivered, Phase: smtp.After, Reply: "kept"}
}
func (*nowhere) Close() error { return nil }

func (n *nowhere) all() []*smtp.Letter {
	n.mu.Lock()
	defer n.mu.Unlock()
	return append([]*smtp.Letter(nil), n.letters...)
}

func tick(t testing.TB, n *notify.Service) notify.Report {
	t.Helper()
	r, err := n.Tick(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestTwoTicksSendOnce(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	n := b.service(t, to)
	first, second := tick(t, n), tick(t, n)
	if first.New == 0 || first.Clubs != 1 {
		t.Fatalf("the first tick owes nothing: %+v", first)
	}
	if second.New != 0 {
		t.Errorf("the second tick owes %d more", second.New)
	}
	start(t, n) // ticks as well
	testrun.Until(t, "all is sent", func() bool { return b.allSent(t) })
	tick(t, n)
	if got := b.messages(t); len(got) != first.New || len(to.all()) != first.New {
		t.Errorf("%d owed, %d on record, %d arrived", first.New, len(got), len(to.all()))
	}
	seen := map[int64]bool{}
	for _, m := range b.messages(t) {
		if m.State != store.Sent || m.Reply != "kept" || m.Attempts != 1 {
			t.Errorf("message %d: %s, %q, %d attempts", m.ID, m.State, m.Reply, m.Attempts)
		}
		if seen[m.MemberID] {
			t.Errorf("member %d has two mails on one day", m.MemberID)
		}
		seen[m.MemberID] = true
	}
}

// TestTicksAtOnce: daemons that decide at the same moment owe what one would.
func TestTicksAtOnce(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	var wg sync.WaitGroup
	var mu sync.Mutex
	total := 0
	for range 4 {
		n := b.service(t, &nowhere{})
		wg.Go(func() {
			r, err := n.Tick(t.Context())
			if err != nil {
				t.Error(err)
			}
			mu.Lock()
			total += r.New
			mu.Unlock()
		})
	}
	wg.Wait()
	got := b.messages(t)
	if total == 0 || len(got) != total {
		t.Errorf("%d owed by four ticks, %d on record", total, len(got))
	}
	keys := map[string]bool{}
	for _, m := range got {
		keys[m.Key] = true
	}
	if len(keys) != len(got) {
		t.Errorf("%d messages with %d keys", len(got), len(keys))
	}
}

// TestOneMailADayFromSeveralClubs: clubs with the same people are decided on
// one after the other, so that nobody gets a mail from two of them on one day,
// and the first of them has the day, as it would in one daemon alone.
func TestOneMailADayFromSeveralClubs(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	for range 3 {
		club, err := b.store.CreateClub(t.Context(), "Hollow Lane Bees")
		if err == nil {
			err = b.store.InClub(t.Context(), club, func(tx *store.Tx) error {
				if _, err := tx.Import(t.Context(), records()); err != nil {
					return err
				}
				_, err := tx.ReplanAll(t.Context(), b.today())
				return err
			})
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if r := tick(t, b.service(t, &nowhere{})); r.Clubs != 4 || r.New != len(b.messages(t)) || r.New == 0 {
		t.Errorf("%+v, and %d of the first club", r, len(b.messages(t)))
	}
	// Trouble in the first does not keep the others waiting.
	b.exec(t, `UPDATE rules SET document = '{"odds_limit": "high"}' WHERE club_id = `+itoa(b.club))
	b.clock.civil = b.clock.civil.Add(time.Hour)
	if r, err := b.service(t, &nowhere{}).Tick(t.Context()); err == nil || r.Clubs != 3 {
		t.Errorf("%d clubs were looked at, %v", r.Clubs, err)
	}
}

// TestTickRoundTrips holds how often a tick waits for Postgres.
func TestTickRoundTrips(t *testing.T) {
	t.Parallel()
	b, trips := countedFixture(t)
	n := b.service(t, &nowhere{})
	if r := tick(t, n); r.New == 0 {
		t.Fatalf("nothing is owed: %+v", r)
	}
	for _, row := range []struct {
		when  string
		civil time.Time
		want  int // one asks for the clubs
		tick  func(context.Context) (notify.Report, error)
	}{
		{"nothing more is owed", morning.Add(5 * time.Minute), 1 + 3, n.Tick},
		{"and nothing changed", morning.Add(10 * time.Minute), 1, n.QuietTick},
		{"nobody's hour has come", morning.Add(-8 * time.Hour), 1 + 2, n.Tick},
	} {
		b.clock.civil = row.civil
		trips.Take()
		r, err := row.tick(t.Context())
		if err != nil || r.New != 0 {
			t.Fatalf("%s: %+v: %v", row.when, r, err)
		}
		if made := trips.Take(); len(made) != row.want {
			t.Errorf("%s: %d round trips, want %d:\n%s", row.when, len(made), row.want, strings.Join(made, "\n"))
		}
	}
}

// TestNewDayIsPlannedFirst: on the next day reminders wait for the plan of
// that day, which the daemon makes by itself.
func TestNewDayIsPlannedFirst(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	b.clock.civil = b.clock.civil.AddDate(0, 0, 1)
	n := b.service(t, to)
	for range 2 {
		if r := tick(t, n); r.New != 0 || r.Waiting != 1 || r.Replans != 1 {
			t.Errorf("before the plan: %+v", r)
		}
	}
	start(t, n)
	testrun.Until(t, "the plan and its mails are there", func() bool { return len(to.all()) > 0 && b.allSent(t) })
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		turn, err := tx.TakeTurn(ctx, b.clock.civil)
		if err == nil && !turn.Planned(b.today()) {
			t.Error("the club is not planned for the day")
		}
		return err
	})
	if r := tick(t, n); r.New != 0 || r.Waiting != 0 || r.Replans != 0 {
		t.Errorf("after the plan: %+v", r)
	}
}

// TestOldPlanIsBetterThanNone: when planning fails, reminders wait for half an
// hour and then go by the last plan.
func TestOldPlanIsBetterThanNone(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	b.clock.civil = b.clock.civil.AddDate(0, 0, 1)
	n := b.service(t, &nowhere{}) // no worker plans anything
	for _, tt := range []struct {
		ahead time.Duration
		waits bool
	}{{0, true}, {29 * time.Minute, true}, {31 * time.Minute, false}} {
		b.clock.ahead = tt.ahead
		if r := tick(t, n); (r.Waiting == 1) != tt.waits || (r.New > 0) == tt.waits || r.Replans != 1 {
			t.Errorf("after %s: %+v", tt.ahead, r)
		}
	}
	b.clock.civil = b.clock.civil.AddDate(0, 0, 1)
	if r := tick(t, n); r.Waiting != 1 || r.New != 0 {
		t.Errorf("the next day does not wait for its plan: %+v", r)
	}
}

// TestTroubleInOneClub does not keep another club's members waiting.
func TestTroubleInOneClub(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	n := b.service(t, &nowhere{})
	other, err := b.store.CreateClub(t.Context(), "Broken Gate Bees")
	if err != nil {
		t.Fatal(err)
	}
	b.exec(t, `UPDATE rules SET document = '{"odds_limit": "high"}' WHERE club_id <> `+itoa(b.club))
	r, err := n.Tick(t.Context())
	if err == nil {
		t.Errorf("nothing is said about club %d", other)
	}
	if r.New == 0 {
		t.Error("the healthy club owes nothing")
	}
}

// TestBeforeTheHour: nobody is owed anything before their own hour, and each
// is owed it in the first tick after.
func TestBeforeTheHour(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	n := b.service(t, &nowhere{})
	zones := map[string]string{"kay@keepers.test": "Europe/London", "lou@keepers.test": "Europe/Berlin"}
	due := map[string]time.Time{}
	for address, zone := range zones {
		loc, err := time.LoadLocation(zone)
		if err != nil {
			t.Fatal(err)
		}
		due[address] = time.Date(2027, time.May, 3, 7, 0, 0, 0, loc)
	}
	for at := time.Date(2027, time.May, 3, 3, 0, 0, 0, time.UTC); at.Hour() < 8; at = at.Add(5 * time.Minute) {
		b.clock.civil = at
		tick(t, n)
		for _, m := range b.messages(t) {
			want, ok := due[m.Address]
			if !ok {
				continue
			}
			if !at.Equal(want) {
				t.Errorf("%s is owed at %s, want %s", m.Address, at, want)
			}
			delete(due, m.Address)
		}
	}
	if len(due) != 0 {
		t.Errorf("never owed: %v", due)
	}
}

// TestQuietTicks: a tick reads a club's records only when something can have
// become owed, and misses nothing by that.
func TestQuietTicks(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	loud, quiet := b.service(t, &nowhere{}), b.service(t, &nowhere{})
	read := 0
	for at := time.Date(2027, time.May, 3, 4, 50, 0, 0, time.UTC); at.Hour() < 9; at = at.Add(5 * time.Minute) {
		b.clock.civil = at
		r, err := quiet.QuietTick(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		read += r.Clubs
		if r := tick(t, loud); r.New != 0 {
			t.Errorf("%s: the quiet tick missed %d messages", at, r.New)
		}
	}
	if n := len(b.messages(t)); n == 0 {
		t.Error("nothing was owed all morning")
	}
	if read < 2 || read > 12 {
		t.Errorf("the records were read %d times in 50 ticks", read)
	}
	// A change that people see is noticed in the next tick.
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		visits, err := tx.Visits(ctx, store.VisitFilter{OpenOnly: true, From: b.today()})
		if err != nil || len(visits) == 0 {
			return err
		}
		_, err = tx.MoveVisit(ctx, visits[0].ID, visits[0].Sequence, scheduler.NewDate(2027, time.May, 4), b.today())
		return err
	})
	if r, err := quiet.QuietTick(t.Context()); err != nil || r.Clubs != 1 {
		t.Errorf("after a move: %+v, %v", r, err)
	}
}
