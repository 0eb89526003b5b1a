package notify_test

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/store"
	"pryday/testdata/testrun"
)

// seven is the hour of a fixture's members in London.
var seven = time.Date(2027, time.May, 3, 6, 0, 0, 0, time.UTC)

// keys lists the keys of a club's messages.
func (b *fixture) keys(t testing.TB) (keys []string) {
	t.Helper()
	for _, m := range b.messages(t) {
		keys = append(keys, m.Key)
	}
	slices.Sort(keys)
	return keys
}

// TestDecidedAheadOfTheHour: where there are many clubs, what is owed at an hour
// is decided before, is the same, and is delivered from the hour on.
func TestDecidedAheadOfTheHour(t *testing.T) {
	t.Parallel()
	at, ahead := newFixture(t), newFixture(t)
	at.clock.civil = seven
	tick(t, at.service(t, &nowhere{}))

	const before = 4 * time.Minute
	n := ahead.service(t, &nowhere{})
	n.DecideAhead(10 * time.Minute)
	ahead.clock.civil = seven.Add(-time.Hour)
	tick(t, n) // what the night left, and what is owed in Berlin
	known := len(ahead.messages(t))
	ahead.clock.civil = seven.Add(-before)
	from := time.Now().Add(before)
	r, err := n.QuietTick(t.Context())
	until := time.Now().Add(before)
	if err != nil || r.New == 0 || r.Clubs != 1 {
		t.Fatalf("before the hour: %+v, %v", r, err)
	}
	if got, want := ahead.keys(t), at.keys(t); !slices.Equal(got, want) || len(got) != known+r.New {
		t.Errorf("decided ahead %v, at the hour %v", got, want)
	}
	ahead.asOwner(t, func(ctx context.Context, conn *pgx.Conn) error {
		rows, err := conn.Query(ctx, `SELECT scheduled_at FROM river_job WHERE kind = 'deliver' ORDER BY id DESC LIMIT $1`, r.New)
		if err != nil {
			return err
		}
		times, err := pgx.CollectRows(rows, pgx.RowTo[time.Time])
		for _, s := range times {
			if s.Before(from.Add(-time.Millisecond)) || s.After(until.Add(time.Millisecond)) {
				t.Errorf("delivered from %s on, want the hour, between %s and %s", s, from, until)
			}
		}
		return err
	})
	for _, civil := range []time.Time{seven.Add(-time.Minute), seven, seven.Add(time.Minute)} {
		ahead.clock.civil = civil
		if r, err := n.QuietTick(t.Context()); err != nil || r.New != 0 {
			t.Errorf("at %s: %+v, %v", civil, r, err)
		}
		if r := tick(t, ahead.service(t, &nowhere{})); r.New != 0 {
			t.Errorf("at %s another daemon owes %d more", civil, r.New)
		}
	}
}

// TestAheadIsEven: what is decided ahead of an hour is spread over the minutes
// before; a small installation decides at the hour.
func TestAheadIsEven(t *testing.T) {
	t.Parallel()
	for _, clubs := range []int{1, 99} {
		if d := notify.AheadOf(7, clubs); d != 0 {
			t.Errorf("of %d clubs one is decided for %s ahead", clubs, d)
		}
	}
	for _, step := range []int64{1, 2, 10, 64} {
		minutes := map[int]int{}
		for i := range int64(1000) {
			d := notify.AheadOf(1+i*step, 1000)
			if d < 0 || d >= 10*time.Minute {
				t.Fatalf("%s ahead", d)
			}
			minutes[int(d.Minutes())]++
		}
		for m := range 10 {
			if minutes[m] < 60 || minutes[m] > 140 {
				t.Errorf("ids %d apart: %d of 1000 clubs in minute %d before the hour", step, minutes[m], m)
			}
		}
	}
}

// TestDaemonsShareATick: daemons that tick at the same moment decide for each
// club once between them.
func TestDaemonsShareATick(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	const more = 7
	for i := range more {
		club, err := b.store.CreateClub(t.Context(), fmt.Sprint("Club ", i))
		if err == nil {
			err = b.store.InClub(t.Context(), club, func(tx *store.Tx) error {
				c := records()
				for m := range c.Members {
					c.Members[m].Email = fmt.Sprintf("%d.%d@keepers.test", i, m)
				}
				if _, err := tx.Import(t.Context(), c); err != nil {
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
	var mu sync.Mutex
	clubs, owed := 0, 0
	tickAll := func() {
		var wg sync.WaitGroup
		for range 3 {
			n := b.service(t, &nowhere{})
			wg.Go(func() {
				r, err := n.QuietTick(t.Context())
				if err != nil {
					t.Error(err)
				}
				mu.Lock()
				defer mu.Unlock()
				clubs, owed = clubs+r.Clubs, owed+r.New
			})
		}
		wg.Wait()
	}
	tickAll()
	var recorded int
	b.query(t, `SELECT count(*) FROM message WHERE state = 'owed'`, &recorded)
	if clubs != more+1 || owed == 0 || owed != recorded {
		t.Errorf("three daemons decided for %d clubs, want %d; %d messages owed, %d on record", clubs, more+1, owed, recorded)
	}
	// A daemon that starts later knows from the others that there is nothing to do.
	clubs = 0
	tickAll()
	if clubs != 0 {
		t.Errorf("%d clubs were read again though nothing is owed", clubs)
	}
}

// TestANightIsShared: several daemons plan a night's clubs between them, each
// apiary once, and sign-in mail does not wait for it.
func TestANightIsShared(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	b.clock.civil = b.clock.civil.AddDate(0, 0, 1)
	first, second := b.service(t, &nowhere{}), b.service(t, &nowhere{})
	tick(t, first)
	tick(t, second)
	var jobs int
	b.query(t, `SELECT count(*) FROM river_job WHERE kind = 'replan_club' AND queue = '`+store.PlanQueue+`'`, &jobs)
	if jobs != 1 {
		t.Fatalf("%d jobs of planning the club's night, want one in its own queue", jobs)
	}
	start(t, first)
	start(t, second)
	today := scheduler.DateOf(b.clock.civil)
	testrun.Until(t, "the club is planned", func() (planned bool) {
		b.query(t, `SELECT bool_and(planned_on = '`+today.String()+`') FROM apiary`, &planned)
		return planned
	})
}
