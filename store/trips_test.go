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
	s, err := Open(context.Background(), Config{URL: address, MaxConns: 1})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s, trips
}

// TestRoundTrips holds how often somebody who changes something waits for
// Postgres, from the transaction's beginning to its end.
func TestRoundTrips(t *testing.T) {
	t.Parallel()
	s, trips := counted(t)
	ctx := context.Background()
	club := importSample(t, s)
	boxes := readClub(t, s, club).Apiaries[0].Hives[0].Boxes
	opening := scheduler.Opening{ID: uuid.NewString(), On: today, Joint: scheduler.Firm, Frames: scheduler.NotTried}
	for _, row := range []struct {
		does string
		want int
		fn   func(*Tx) error
	}{
		{"nothing", 1, func(*Tx) error { return nil }},
		{"one query", 2, func(tx *Tx) error { _, err := tx.FeedVersion(ctx); return err }},
		{"an opening", 3, func(tx *Tx) error {
			_, err := tx.RecordOpening(ctx, boxes[0].ID, opening, today)
			return err
		}},
		{"the same again", 2, func(tx *Tx) error {
			_, err := tx.RecordOpening(ctx, boxes[0].ID, opening, today)
			return err
		}},
	} {
		trips.Take()
		inClub(t, s, club, row.fn)
		if made := trips.Take(); len(made) != row.want {
			t.Errorf("%s: %d round trips, want %d:\n%s", row.does, len(made), row.want, strings.Join(made, "\n"))
		}
	}
}
