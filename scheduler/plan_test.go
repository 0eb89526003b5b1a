package scheduler

import (
	"fmt"
	"testing"
	"time"
)

// orchard is an invented apiary of three hives at 44 degrees north.
func orchard() *Club {
	day := func(y, m, d int) Date { return NewDate(y, time.Month(m), d) }
	c := &Club{ID: 1, Name: "Test Club", Rules: DefaultRules(),
		Members: []Member{{ID: 1, Name: "Ada Quill"}, {ID: 2, Name: "Ben Rowe"}}}
	a := Apiary{ID: 1, Name: "Orchard", Latitude: 44.1, Longitude: -79.9, ElevationM: 310,
		Timezone: "America/Toronto", Weekdays: 1<<0 | 1<<6, Keepers: []int64{1, 2}}
	id := int64(0)
	for h := range 3 {
		hive := Hive{ID: int64(h + 1), Name: fmt.Sprintf("H%d", h+1)}
		for b := range 3 {
			id++
			box := Box{ID: id, Name: fmt.Sprintf("B%d", id), Kind: "deep", SetUpOn: day(2024, 5, 1)}
			for i, on := range []Date{day(2024, 8, 10), day(2025, 5, 3), day(2025, 8, 30), day(2026, 5, 2)} {
				box.Openings = append(box.Openings, Opening{ID: fmt.Sprintf("%d-%d", id, i), On: on,
					Joint: Difficulty((h + b + i) % 4), Frames: NotTried, Scraped: ScrapedAll})
			}
			hive.Boxes = append(hive.Boxes, box)
		}
		a.Hives = append(a.Hives, hive)
	}
	c.Apiaries = append(c.Apiaries, a)
	return c
}

func TestShow(t *testing.T) {
	c := orchard()
	p := PlanClub(c, NewDate(2026, 5, 20))
	for _, v := range p.Visits {
		t.Log(v.On, v.On.Weekday(), v.Status, v.For, v.Who)
		t.Log(ExplainVisit(c, p, &v))
		for _, b := range v.Boxes {
			t.Log("    ", b.BoxID, b.Due, b.Reason, b.Odds)
		}
	}
	for _, b := range p.Boxes {
		t.Log(ExplainBox(c, p, &b))
	}
}
