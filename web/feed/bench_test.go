package feed

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/store"
)

// largeClub has apiaries of five hives with five boxes each.
func largeClub(apiaries int) *scheduler.Club {
	c := records()
	c.Apiaries = nil
	hive, box := int64(0), int64(0)
	for a := range apiaries {
		ap := scheduler.Apiary{
			ID: int64(a + 1), Name: fmt.Sprintf("Apiary %05d", a), Latitude: 44 + float64(a%40)/10, Longitude: 9, Timezone: "Europe/Rome",
			Keepers: []int64{1},
		}
		for h := range 5 {
			hive++
			hv := scheduler.Hive{ID: hive, Name: fmt.Sprint("Hive ", h+1)}
			for b := range 5 {
				box++
				bx := scheduler.Box{ID: box, Name: fmt.Sprint(h+1, b+1), Kind: "deep", SetUpOn: scheduler.NewDate(2024, 4, 10)}
				for o := range 4 {
					bx.Openings = append(bx.Openings, scheduler.Opening{
						ID: uuid.NewString(), On: bx.SetUpOn + scheduler.Date(200*(o+1)+int(box)%40),
						Joint: scheduler.Difficulty((int(box) + o) % 4), Frames: scheduler.NotTried, Scraped: scheduler.ScrapedPart,
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

// BenchmarkOpeningShows measures from the recording of an opening to its
// effect in a calendar of another daemon, in a club of 7,500 boxes.
func BenchmarkOpeningShows(b *testing.B) {
	bed := newFixture(b, largeClub(300))
	reader := bed.another(b, bed.database)
	var boxes []int64
	var apiary int64
	bed.inClub(b, func(ctx context.Context, tx *store.Tx) error {
		c, err := tx.Outline(ctx)
		if err != nil {
			return err
		}
		apiary = c.Apiaries[7].ID
		for _, h := range c.Apiaries[7].Hives {
			for _, x := range h.Boxes {
				boxes = append(boxes, x.ID)
			}
		}
		return nil
	})
	for _, kind := range []store.LinkKind{store.ApiaryLink, store.ClubLink} {
		b.Run(string(kind), func(b *testing.B) {
			of := apiary
			if kind == store.ClubLink {
				of = 0
			}
			_, token := bed.link(b, kind, of, store.LinkOptions{})
			tag := reader.get(b, token).header.Get("ETag")
			var took []time.Duration
			i := 0
			for b.Loop() {
				began := time.Now()
				bed.inClub(b, func(ctx context.Context, tx *store.Tx) error {
					_, err := tx.RecordOpening(ctx, boxes[i%len(boxes)], scheduler.Opening{
						On: bed.today(), Joint: scheduler.Difficulty(i % 4), Frames: scheduler.NotTried, Condition: []scheduler.Condition{
							[]scheduler.Condition{scheduler.Warped, scheduler.LugBroken, scheduler.LidDamaged}[i%3],
						},
					}, bed.today())
					return err
				})
				i++
				a := reader.get(b, token, "If-None-Match", tag)
				for limit := time.Now().Add(100 * time.Millisecond); a.status == http.StatusNotModified && time.Now().Before(limit); {
					a = reader.get(b, token, "If-None-Match", tag)
				}
				if a.status == http.StatusOK {
					took, tag = append(took, time.Since(began)), a.header.Get("ETag")
				} // else nothing that this calendar says has changed
			}
			if len(took) == 0 {
				b.Fatal("no opening showed")
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms-median")
			b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "ms-p99")
		})
	}
}
