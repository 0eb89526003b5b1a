package store

import (
	"context"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/store/storetest"
)

// counted is open with one connection, whose round trips are counted.
func counted(t testing.TB) (*Store, *storetest.Trips) {
	t.Helper()
	address, trips := storetest.Counted(t)
	s, err := Open(context.Background(), Config{URL: storetest.Serving(address), Apart: true, MaxConns: 1})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s, trips
}

// TestRoundTrips holds how often somebody who changes something waits for
// Postgres, from the transaction's beginning to its end. A new visit costs one
// wait more, for its id.
func TestRoundTrips(t *testing.T) {
	t.Parallel()
	s, trips := counted(t)
	ctx := context.Background()
	club := importSample(t, s)
	hives := readClub(t, s, club).Apiaries[0].Hives
	var plan *Replanned
	record := func(h *scheduler.Hive) func(*Tx) error {
		opening := scheduler.Opening{ID: uuid.NewString(), On: today, Joint: scheduler.Firm, Frames: scheduler.NotTried}
		return func(tx *Tx) error {
			r, err := tx.RecordOpening(ctx, h.Boxes[0].ID, opening, today)
			if err == nil {
				plan = r.Replanned
			}
			return err
		}
	}
	moves, adds := record(&hives[1]), record(&hives[0])
	for _, row := range []struct {
		does string
		want int
		adds int // visits
		fn   func(*Tx) error
	}{
		{"nothing", 1, 0, func(*Tx) error { return nil }},
		{"one query", 2, 0, func(tx *Tx) error { _, err := tx.FeedVersion(ctx); return err }},
		{"an opening that moves visits", 3, 0, moves},
		{"the same again", 2, 0, moves},
		{"an opening that adds a visit", 4, 1, adds},
	} {
		trips.Take()
		plan = nil
		inClub(t, s, club, row.fn)
		if made := trips.Take(); len(made) != row.want {
			t.Errorf("%s: %d round trips, want %d:\n%s", row.does, len(made), row.want, strings.Join(made, "\n"))
		}
		if plan != nil && (plan.Empty() || len(plan.Added) != row.adds) {
			t.Errorf("%s: adds %d visits, want %d, and changes %d", row.does, len(plan.Added), row.adds, len(plan.Changed))
		}
	}
}
