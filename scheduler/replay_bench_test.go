package scheduler

import (
	"fmt"
	"testing"
)

// benchClub returns a club of one apiary with 8 hives of 3 boxes, each opened
// a number of times, four times a year.
func benchClub(openings int) *Club {
	c := &Club{Rules: DefaultRules(), Apiaries: []Apiary{{ID: 1, Latitude: 47}}}
	a := &c.Apiaries[0]
	for h := range 8 {
		hive := Hive{ID: int64(h + 1)}
		for b := range 3 {
			box := Box{ID: int64(h*3 + b + 1), SetUpOn: NewDate(2015, 4, 1)}
			for k := range openings {
				box.Openings = append(box.Openings, Opening{
					ID: fmt.Sprint(h, b, k), On: NewDate(2015+k/4, 5, 1) + Date(k%4*40+b),
					Joint: Difficulty((h + b + k) % 4), Frames: Difficulty(k % 3), Scraped: ScrapedPart,
				})
			}
			hive.Boxes = append(hive.Boxes, box)
		}
		a.Hives = append(a.Hives, hive)
	}
	return c
}

func BenchmarkReplayHistory(b *testing.B) {
	for _, openings := range []int{0, 12, 40} {
		b.Run(fmt.Sprint(openings, " openings a box"), func(b *testing.B) {
			c := benchClub(openings)
			b.ReportAllocs()
			for b.Loop() {
				Replay(c, NewDate(2026, 4, 1))
			}
			perBox := float64(b.Elapsed().Nanoseconds()) / float64(b.N) / 24
			b.ReportMetric(perBox, "ns/box")
			if openings > 0 {
				b.ReportMetric(perBox/float64(openings), "ns/opening")
			}
		})
	}
}

func BenchmarkApply(b *testing.B) {
	rules := DefaultRules()
	s := NewSeason(Place{Latitude: 47}, &rules)
	kept := Replay(benchClub(12), NewDate(2026, 4, 1))
	h := hiveOf(4, NewDate(2020, 5, 1))
	for i := range h.Boxes {
		h.Boxes[i] = kept[i].Seal
	}
	start := copyState(h)
	o := Opening{On: NewDate(2027, 6, 1), Joint: Firm, Scraped: ScrapedPart}
	b.ReportAllocs()
	for b.Loop() {
		h.On = start.On
		copy(h.Boxes, start.Boxes)
		copy(h.Mean, start.Mean)
		copy(h.Cov, start.Cov)
		h.apply(s, 1, &o, nil)
	}
}
