package migrations_test

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"pryday/migrations"
	"pryday/store/storetest"
)

// BenchmarkVisitLock is how long a reader of visits waits at most while
// migration 13 takes the boxes taken off a visit into a table of their own, one
// visit in a hundred having such a box.
func BenchmarkVisitLock(b *testing.B) {
	for _, visits := range []int{100_000, 400_000} {
		b.Run(fmt.Sprint(visits, " visits"), func(b *testing.B) {
			ctx := context.Background()
			for b.Loop() {
				url := storetest.Empty(b)
				if err := migrations.UpTo(ctx, url, 12); err != nil {
					b.Fatal(err)
				}
				pool, err := pgxpool.New(ctx, url)
				if err != nil {
					b.Fatal(err)
				}
				if _, err := pool.Exec(ctx, fmt.Sprintf(`
					INSERT INTO club (id, name) VALUES (1, 'Large');
					INSERT INTO apiary (club_id, id, name, latitude, longitude, elevation_m, timezone)
						SELECT 1, i, 'Apiary ' || i, 47, 15, 300, 'UTC' FROM generate_series(1, %[1]d / 10) i;
					INSERT INTO box (club_id, id, name, kind, set_up_on) SELECT 1, i, 'B' || i, 'deep', '2025-04-10' FROM generate_series(1, 1000) i;
					INSERT INTO visit (club_id, id, uid, apiary_id, on_day, status, not_boxes)
						SELECT 1, i, 'v' || i, 1 + i / 10 %% (%[1]d / 10), date '2027-01-01' + i %% 365, 'confirmed',
						       CASE WHEN i %% 100 = 0 THEN ARRAY[1 + i %% 1000]::bigint[] ELSE '{}' END FROM generate_series(1, %[1]d) i;
					ANALYZE`, visits)); err != nil {
					b.Fatal(err)
				}
				var longest time.Duration
				done := make(chan struct{})
				var reading sync.WaitGroup
				reading.Go(func() {
					for {
						select {
						case <-done:
							return
						default:
						}
						began := time.Now()
						if _, err := pool.Exec(ctx, `SELECT FROM visit WHERE id = 1`); err != nil {
							b.Error(err)
							return
						}
						longest = max(longest, time.Since(began))
					}
				})
				began := time.Now()
				if err := migrations.UpTo(ctx, url, 13); err != nil {
					b.Fatal(err)
				}
				took := time.Since(began)
				close(done)
				reading.Wait()
				pool.Close()
				b.ReportMetric(float64(longest.Milliseconds()), "ms-waited")
				b.ReportMetric(float64(took.Milliseconds()), "ms-migration")
			}
		})
	}
}
