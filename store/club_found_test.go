package store

import (
	"context"
	"slices"
	"testing"

	"pryday/store/storetest"
)

// A club that is brought in is there whole or not at all, wherever the line to
// the database breaks: no club, no person, nothing of it.
func TestFoundClubIsWholeOrNotAtAll(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	direct := storetest.New(t)
	address, trips := storetest.Count(t, direct)
	s, err := Open(ctx, Config{URL: storetest.Serving(address), Apart: true, MaxConns: 2})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	left := func() []string {
		return rowsOf(t, &Store{cfg: Config{URL: storetest.Serving(direct), Apart: true}}, `SELECT 'club ' || name FROM club UNION ALL SELECT 'person ' || email FROM person
			UNION ALL SELECT 'rules ' || version FROM rules UNION ALL SELECT 'job ' || kind FROM river_job`)
	}
	doc := sampleClub()
	for n := 1; n < 100; n++ {
		trips.Break(n)
		_, err := s.FoundClub(ctx, "Old Mill Beekeepers", func(tx *Tx) error {
			if _, err := tx.Import(ctx, doc); err != nil {
				return err
			}
			_, err := tx.ReplanAll(ctx, today)
			return err
		})
		got := left()
		if err == nil {
			if n < 10 || !slices.Contains(got, "club Old Mill Beekeepers") {
				t.Errorf("done after %d trips, and left %v", n, got)
			}
			return
		}
		if len(got) > 0 {
			t.Fatalf("broken at trip %d (%v), it left %v", n, err, got)
		}
	}
	t.Error("it never came to an end")
}
