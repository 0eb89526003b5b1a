package store

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// largeClub has apiaries of five hives with five boxes each, every box opened
// a number of times.
func largeClub(name string, apiaries, openings int) *scheduler.Club {
	c := &scheduler.Club{
		Name: name, Rules: scheduler.DefaultRules(),
		Members: []scheduler.Member{{ID: 1, Name: "Ansel Whitlow", Email: "ansel@example.org", Role: scheduler.Organiser}},
	}
	hive, box := int64(0), int64(0)
	for a := range apiaries {
		ap := scheduler.Apiary{
			ID: int64(a + 1), Name: fmt.Sprintf("Apiary %05d", a), Latitude: 44 + float64(a%40)/10, Longitude: 9,
			ElevationM: float64(a % 900), Timezone: "Europe/Rome", Keepers: []int64{1},
		}
		for h := range 5 {
			hive++
			hv := scheduler.Hive{ID: hive, Name: fmt.Sprintf("Hive %d", h+1)}
			for b := range 5 {
				box++
				bx := scheduler.Box{ID: box, Name: fmt.Sprintf("%d%d", h+1, b+1), Kind: "deep", SetUpOn: scheduler.NewDate(2024, 4, 10)}
				for o := range openings {
					bx.Openings = append(bx.Openings, scheduler.Opening{
						ID: uuid.NewString(), On: bx.SetUpOn + scheduler.Date(138*(o+1)+int(box)%40),
						Joint: scheduler.Difficulty((int(box) + o) % 4), Frames: scheduler.NotTried, Scraped: scheduler.ScrapedPart, By: 1,
					})
				}
				hv.Boxes = append(hv.Boxes, bx)
			}
			ap.Hives = append(ap.Hives, hv)
		}
		c.Apiaries = append(c.Apiaries, ap)
	}
	return c
}

func importLarge(b testing.TB, s *Store, apiaries, openings int) int64 {
	b.Helper()
	ctx := context.Background()
	club, err := s.CreateClub(ctx, "Large")
	if err != nil {
		b.Fatal(err)
	}
	inClub(b, s, club, func(tx *Tx) error {
		_, err := tx.Import(ctx, largeClub("Large", apiaries, openings))
		return err
	})
	return club
}

func BenchmarkImport10000Openings(b *testing.B) {
	s := open(b)
	for b.Loop() {
		importLarge(b, s, 50, 8)
	}
}

// BenchmarkReplanClub reports the time for one box of a club planned for the
// first time and on each next day.
func BenchmarkReplanClub(b *testing.B) {
	const apiaries = 200
	s, ctx := open(b), context.Background()
	club := importLarge(b, s, apiaries, 8)
	day := today
	replan := func(b *testing.B) {
		if n, _, err := s.ReplanClub(ctx, club, day); err != nil || n != apiaries {
			b.Fatalf("planned %d apiaries for %s: %v", n, day, err)
		}
	}
	perBox := func(b *testing.B) {
		b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/(apiaries*25), "µs/box")
	}
	b.Run("first", func(b *testing.B) {
		for b.Loop() {
			b.StopTimer()
			inClub(b, s, club, func(tx *Tx) error { return tx.forgetPlan(ctx) })
			b.StartTimer()
			replan(b)
		}
		perBox(b)
	})
	b.Run("next day", func(b *testing.B) {
		for b.Loop() {
			day++
			replan(b)
		}
		perBox(b)
	})
}

// forgetPlan leaves a club as if it had never been planned.
func (tx *Tx) forgetPlan(ctx context.Context) error {
	for _, sql := range []string{`DELETE FROM visit`, `DELETE FROM due`, `UPDATE apiary SET planned_on = NULL, planned_rules = NULL, worst_odds = NULL`} {
		if _, err := tx.tx.Exec(ctx, sql); err != nil {
			return err
		}
	}
	return nil
}

// BenchmarkRecordOpening records one opening of a club of 5,000 boxes, from
// the transaction's beginning to its commit with the new plan saved, against
// writing down the same row alone: INSERT and COMMIT in one round trip.
func BenchmarkRecordOpening(b *testing.B) {
	s, ctx := open(b), context.Background()
	club := importLarge(b, s, 200, 8)
	if _, _, err := s.ReplanClub(ctx, club, today); err != nil {
		b.Fatal(err)
	}
	var boxes []int64
	inClub(b, s, club, func(tx *Tx) (err error) {
		boxes, err = tx.ids(ctx, `SELECT id FROM box ORDER BY id`)
		return err
	})
	i := 0
	var recording, writing time.Duration
	for b.Loop() {
		i++
		box := boxes[i*37%len(boxes)]
		o := scheduler.Opening{On: today, Joint: scheduler.Firm, Frames: scheduler.NotTried}
		begun := time.Now()
		err := s.InClub(ctx, club, func(tx *Tx) error {
			_, err := tx.RecordOpening(ctx, box, o, today)
			return err
		})
		recording += time.Since(begun)
		if err != nil {
			b.Fatal(err)
		}
		begun = time.Now()
		err = s.InClub(ctx, club, func(tx *Tx) error {
			tx.later("write an opening", `
				INSERT INTO opening (club_id, id, box_id, on_day, joint, frames, scraped) VALUES ($1, $2, $3, $4, $5, $6, '')`,
				club, uuid.NewString(), box, o.On, o.Joint, o.Frames)
			return nil
		})
		writing += time.Since(begun)
		if err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(recording.Seconds()/writing.Seconds(), "record/insert")
	b.ReportMetric(12, "record/insert-at-most")
	b.ReportMetric(float64(recording.Microseconds())/float64(b.N)/1000, "ms")
	b.ReportMetric(float64(writing.Microseconds())/float64(b.N)/1000, "ms-insert")
}
