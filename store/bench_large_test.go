package store

import (
	"context"
	"flag"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
	"pryday/store/storetest"
)

var benchBoxes = flag.Int("boxes", 25_000, "boxes stored in the large benchmarks; a multiple of 2,500")

// clubBoxes is the size of each club of the large benchmarks.
const clubBoxes = 2500

// storeLarge fills a database with clubs of 100 apiaries, copies of one.
func storeLarge(b testing.TB, s *Store, clubs int) []int64 {
	b.Helper()
	return copyClub(b, s, importLarge(b, s, clubBoxes/25, 8), clubs)
}

// copyClub makes copies of a club, so that there are so many.
func copyClub(b testing.TB, s *Store, first int64, clubs int) []int64 {
	b.Helper()
	ctx := context.Background()
	owner, err := pgx.Connect(ctx, storetest.Owner(s.cfg.URL))
	if err != nil {
		b.Fatal(err)
	}
	defer owner.Close(ctx)
	ids := []int64{first}
	exec := func(sql string) {
		b.Helper()
		if _, err := owner.Exec(ctx, sql); err != nil {
			b.Fatal(err)
		}
	}
	for i := 1; i < clubs; i++ {
		club := first + int64(i)
		ids = append(ids, club)
		at := fmt.Sprintf("%d", int64(i)*1_000_000)
		exec(fmt.Sprintf(`
			INSERT INTO club (id, name) SELECT %[1]d, name FROM club WHERE id = %[2]d;
			INSERT INTO rules (club_id, version, document) SELECT %[1]d, version, document FROM rules WHERE club_id = %[2]d;
			INSERT INTO member (club_id, id, person_id, name, role) SELECT %[1]d, id + %[3]s, person_id, name, role FROM member WHERE club_id = %[2]d;
			INSERT INTO apiary (club_id, id, name, latitude, longitude, elevation_m, timezone)
				SELECT %[1]d, id + %[3]s, name, latitude, longitude, elevation_m, timezone FROM apiary WHERE club_id = %[2]d;
			INSERT INTO apiary_keeper SELECT %[1]d, apiary_id + %[3]s, member_id + %[3]s, position FROM apiary_keeper WHERE club_id = %[2]d;
			INSERT INTO hive (club_id, id, apiary_id, name) SELECT %[1]d, id + %[3]s, apiary_id + %[3]s, name FROM hive WHERE club_id = %[2]d;
			INSERT INTO box (club_id, id, name, kind, set_up_on, hive_id, position)
				SELECT %[1]d, id + %[3]s, name, kind, set_up_on, hive_id + %[3]s, position FROM box WHERE club_id = %[2]d;
			INSERT INTO opening (club_id, id, box_id, on_day, joint, frames, scraped, by_member)
				SELECT %[1]d, gen_random_uuid(), box_id + %[3]s, on_day, joint, frames, scraped, by_member + %[3]s
				  FROM opening WHERE club_id = %[2]d ORDER BY seq;
			UPDATE apiary a SET planned_on = f.planned_on, planned_rules = f.planned_rules, overdue = f.overdue, overdue_since = f.overdue_since, worst_odds = f.worst_odds
			  FROM apiary f WHERE a.club_id = %[1]d AND f.club_id = %[2]d AND a.id = f.id + %[3]s;
			INSERT INTO visit (club_id, id, uid, apiary_id, on_day, status, first_seen, cancelled_until)
				SELECT %[1]d, id + %[3]s, uid, apiary_id + %[3]s, on_day, status, first_seen, cancelled_until FROM visit WHERE club_id = %[2]d;
			INSERT INTO visit_box SELECT %[1]d, visit_id + %[3]s, n, box_id + %[3]s, due, reason, odds FROM visit_box WHERE club_id = %[2]d;
			INSERT INTO visit_member (club_id, visit_id, member_id, n, said)
				SELECT %[1]d, visit_id + %[3]s, member_id + %[3]s, n, said FROM visit_member WHERE club_id = %[2]d;
			INSERT INTO due (club_id, box_id, apiary_id, hive_id, since, last_opened, last_hard, odds_day, due, reason, moved, left_alone,
			                 seal_since, seal_left, rate_mean, rate_variance, rated_on)
				SELECT %[1]d, box_id + %[3]s, apiary_id + %[3]s, hive_id + %[3]s, since, last_opened, last_hard, odds_day, due, reason, moved, left_alone,
				       seal_since, seal_left, rate_mean, rate_variance, rated_on
				  FROM due WHERE club_id = %[2]d`, club, first, at))
	}
	exec(`ANALYZE`)
	return ids
}

// BenchmarkRecordOpeningAmongMany records openings all over what is stored,
// each from the transaction's beginning to its commit with the new plan saved
// and calendars told, and reports how long the slowest took.
func BenchmarkRecordOpeningAmongMany(b *testing.B) {
	s, ctx := open(b), context.Background()
	clubs := storeLarge(b, s, max(1, *benchBoxes/clubBoxes))
	boxes := make(map[int64][]int64, len(clubs))
	for _, club := range clubs {
		inClub(b, s, club, func(tx *Tx) (err error) {
			boxes[club], err = tx.ids(ctx, `SELECT id FROM box WHERE hive_id = ANY(ARRAY(SELECT id FROM hive WHERE apiary_id = `+anyApiary+`)) ORDER BY id`)
			return err
		})
	}
	var took []time.Duration
	i := 0
	for b.Loop() {
		i++
		club := clubs[i%len(clubs)]
		box := boxes[club][i*379%clubBoxes]
		start := time.Now()
		err := s.InClub(ctx, club, func(tx *Tx) error {
			_, err := tx.RecordOpening(ctx, box, scheduler.Opening{On: today, Joint: scheduler.Firm, Frames: scheduler.NotTried}, today)
			return err
		})
		if err != nil {
			b.Fatal(err)
		}
		took = append(took, time.Since(start))
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms-median")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "ms-p99")
}
