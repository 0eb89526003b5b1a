package store

import (
	"context"
	"os"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store/records"
	"pryday/store/storetest"
)

// BenchmarkDecide decides what a club owes by what is read for it, against
// deciding by all of the club's records: how long both take, how often they
// wait for Postgres, and what they read.
func BenchmarkDecide(b *testing.B) {
	demo, err := os.ReadFile("../testdata/demo.json")
	if err != nil {
		b.Fatal(err)
	}
	invented, err := records.Parse(demo)
	if err != nil {
		b.Fatal(err)
	}
	for _, row := range []struct {
		name    string
		c       *scheduler.Club
		at      scheduler.Date
		atMost  float64 // of the time
		rowsMax float64 // of the rows
	}{
		{"demo", invented, scheduler.NewDate(2027, 5, 1), 0.7, 0.1},
		{"300 apiaries", largeClub("Large", 300, 8), today, 0.15, 0.05},
	} {
		b.Run(row.name, func(b *testing.B) {
			ctx := context.Background()
			address, trips := storetest.Counted(b)
			s, err := Open(ctx, Config{URL: storetest.Serving(address), Apart: true, MaxConns: 4})
			if err != nil {
				b.Fatal(err)
			}
			defer s.Close()
			club, err := s.CreateClub(ctx, row.name)
			if err != nil {
				b.Fatal(err)
			}
			inClub(b, s, club, func(tx *Tx) error {
				_, err := tx.Import(ctx, row.c)
				return err
			})
			if _, _, err := s.ReplanClub(ctx, club, row.at); err != nil {
				b.Fatal(err)
			}
			owner(b, s, `ANALYZE`)
			now := row.at.At(22*60, time.UTC)
			lean := func(tx *Tx) ([]owed.Message, error) {
				turn, err := tx.TakeTurn(ctx, now)
				if err != nil {
					return nil, err
				}
				plan, err := tx.OwedRecords(ctx, turn, now)
				return owed.Decide(turn.Club, plan, now, turn.Before), err
			}
			whole := func(tx *Tx) ([]owed.Message, error) {
				c, p, before, err := wholeTurn(ctx, tx, now)
				return owed.Decide(c, p, now, before), err
			}
			decide := func(by func(*Tx) ([]owed.Message, error)) (took time.Duration, waits int, read storetest.Read) {
				trips.Take()
				trips.TakeRead()
				start := time.Now()
				inClub(b, s, club, func(tx *Tx) error {
					messages, err := by(tx)
					if err == nil {
						_, err = tx.Owe(ctx, messages, now)
					}
					return err
				})
				return time.Since(start), len(trips.Take()), trips.TakeRead()
			}
			decide(lean) // what is owed by then; both find nothing new, as most ticks do
			decide(whole)
			var took, wholeTook time.Duration
			var waits, wholeWaits int
			var read, wholeRead storetest.Read
			for b.Loop() {
				t, n, r := decide(lean)
				took, waits, read = took+t, n, r
				t, n, r = decide(whole)
				wholeTook, wholeWaits, wholeRead = wholeTook+t, n, r
			}
			b.ReportMetric(took.Seconds()/wholeTook.Seconds(), "time/whole")
			b.ReportMetric(row.atMost, "time/whole-at-most")
			b.ReportMetric(float64(read.Rows)/float64(wholeRead.Rows), "rows/whole")
			b.ReportMetric(row.rowsMax, "rows/whole-at-most")
			b.ReportMetric(float64(took.Microseconds())/float64(b.N)/1000, "ms")
			b.ReportMetric(float64(wholeTook.Microseconds())/float64(b.N)/1000, "ms-whole")
			b.ReportMetric(float64(waits), "trips")
			b.ReportMetric(float64(wholeWaits), "trips-whole")
			b.ReportMetric(float64(read.Rows), "rows")
			b.ReportMetric(float64(wholeRead.Rows), "rows-whole")
			b.ReportMetric(float64(read.Bytes)/1024, "kB")
			b.ReportMetric(float64(wholeRead.Bytes)/1024, "kB-whole")
		})
	}
}
