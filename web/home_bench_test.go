package web

import (
	"fmt"
	"net/http"
	"testing"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// bigClub is a club of 10,000 boxes.
func bigClub() *scheduler.Club { return clubOf(417) }

// clubOf is the sample's club many times over: apiaries with 24 boxes each.
func clubOf(apiaries int) *scheduler.Club {
	c := quarryClub()
	c.Name = fmt.Sprintf("Club of %d Boxes", 24*apiaries)
	model := c.Apiaries[1]
	c.Apiaries = nil
	id := int64(0)
	for i := range apiaries {
		a := model
		a.ID, a.Name, a.Hives = int64(i+1), fmt.Sprintf("Apiary %03d", i), nil
		if i%3 == 0 {
			a.Keepers = nil
		}
		for h := range 8 {
			hive := scheduler.Hive{ID: int64(10*i + h + 1), Name: fmt.Sprintf("Hive %d", h)}
			for b := range 3 {
				id++
				hive.Boxes = append(hive.Boxes, scheduler.Box{
					ID: id, Name: fmt.Sprintf("B%d", id), Kind: "deep", SetUpOn: scheduler.NewDate(2025, 4, 10),
					Openings: []scheduler.Opening{{
						ID: uuid.NewString(), On: scheduler.NewDate(2026, 5, 9) + scheduler.Date(i%60), Joint: scheduler.Difficulty(b), Frames: scheduler.NotTried, Scraped: scheduler.ScrapedPart,
					}},
				})
			}
			a.Hives = append(a.Hives, hive)
		}
		c.Apiaries = append(c.Apiaries, a)
	}
	return c
}

// BenchmarkHome serves the page of what is due in a club of 10,000 boxes.
func BenchmarkHome(b *testing.B) { benchPage(b, "/") }

// BenchmarkMonth and BenchmarkYear serve the calendar of that club.
func BenchmarkMonth(b *testing.B) { benchPage(b, "/month?month=2027-07") }

func BenchmarkYear(b *testing.B) { benchPage(b, "/year?year=2027") }

func benchPage(b *testing.B, path string) {
	c := serveClub(b)
	for i := range 3 {
		c.member[[]string{"Ansel", "Brida", "Corin"}[i]] = 0
	}
	records := bigClub()
	for i := range records.Members {
		records.Members[i].Email = fmt.Sprintf("big%d@example.org", i)
	}
	c.importClub(records)
	who := c.as("Ansel")
	size := 0
	for b.Loop() {
		got := who.get(path)
		if got.status != http.StatusOK {
			b.Fatal(got.status)
		}
		size = len(got.body)
	}
	b.ReportMetric(float64(size)/1024, "kB")
	if size > 100<<10 {
		b.Errorf("the page has %d kB", size>>10)
	}
}
