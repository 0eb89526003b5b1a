package store

import (
	"context"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5/pgxpool"

	"pryday/scheduler"
)

// BenchmarkGrowth is what a session goes through that has kept plans for small
// tables, when a large club comes in: its import, its first plan, and then
// openings, before Postgres has counted the rows anew. It holds each against a
// session that may read whole tables where that seems cheaper.
func BenchmarkGrowth(b *testing.B) {
	const apiaries = 200
	ctx := context.Background()
	grow := func(seqscan string) (took [3]time.Duration) {
		s := open(b)
		small := importSample(b, s)
		for _, table := range rowsOf(b, s, `SELECT relname::text FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace AND relowner = current_user::regrole`) {
			owner(b, s, `ALTER TABLE `+table+` SET (autovacuum_enabled = false)`) // whenever that would come
		}
		c := s.pool.Config()
		c.MaxConns = 1 // the same session throughout
		if seqscan != "" {
			c.ConnConfig.RuntimeParams["enable_seqscan"] = seqscan
		}
		pool, err := pgxpool.NewWithConfig(ctx, c)
		if err != nil {
			b.Fatal(err)
		}
		s.pool.Close()
		s.pool = pool
		var boxes []int64
		for _, x := range readClub(b, s, small).Apiaries[0].Hives[0].Boxes {
			boxes = append(boxes, x.ID)
		}
		record := func(club int64, times int) {
			for i := range times {
				o := scheduler.Opening{ID: uuid.NewString(), On: today - scheduler.Date(times-i), Joint: scheduler.Firm, Frames: scheduler.NotTried}
				inClub(b, s, club, func(tx *Tx) error {
					_, err := tx.RecordOpening(ctx, boxes[i%len(boxes)], o, today)
					return err
				})
			}
		}
		record(small, 12) // after five times, a plan is kept
		begun := time.Now()
		lap := func(i int) { took[i], begun = time.Since(begun), time.Now() }
		club := importLarge(b, s, apiaries, 8)
		lap(0)
		if _, _, err := s.ReplanClub(ctx, club, today); err != nil {
			b.Fatal(err)
		}
		lap(1)
		inClub(b, s, club, func(tx *Tx) (err error) {
			boxes, err = tx.ids(ctx, `SELECT id FROM box WHERE hive_id IS NOT NULL ORDER BY id DESC LIMIT 20`)
			return err
		})
		begun = time.Now()
		record(club, 20)
		lap(2)
		return took
	}
	for b.Loop() {
		ours, free := grow(""), grow("on")
		for i, step := range []string{"import", "plan", "record"} {
			b.ReportMetric(ours[i].Seconds()/free[i].Seconds(), step+"/free-planner")
			b.ReportMetric(1.5, step+"/free-planner-at-most")
			b.ReportMetric(ours[i].Seconds()*1000, step+"-ms")
		}
	}
}
