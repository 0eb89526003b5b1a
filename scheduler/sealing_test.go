package scheduler

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Places whose stages fall into other years than the table's, and the rest.
func TestSealingDaysOverLeapYears(t *testing.T) {
	places := []Place{
		{Latitude: 48},
		{Latitude: -37.8},
		{Latitude: -35.5, ElevationM: 6000},
		{Latitude: -60, ElevationM: 5500, ShiftDays: 20},
		{Latitude: 25.5, ShiftDays: -60},
		{Latitude: 25.5, ShiftDays: -24},
		{Latitude: -25.5, ShiftDays: 157},
		{Latitude: -25.5, ShiftDays: 170},
		{Latitude: 2},
	}
	rules := DefaultRules()
	for _, p := range places {
		t.Run(fmt.Sprintf("%g %g m %+d", p.Latitude, p.ElevationM, p.ShiftDays), func(t *testing.T) {
			s := NewSeason(p, &rules)
			for _, from := range []Date{NewDate(1896, 1, 1), NewDate(2023, 1, 1), NewDate(2096, 1, 1)} {
				sum := 0.0
				for d := from; d < from+10*365; d++ {
					if got := s.SealingDays(from, d); math.Abs(got-sum) > 1e-7 {
						t.Fatalf("%v to %v: %.9g sealing days, want %.9g", from, d, got, sum)
					}
					stage, first, next := naiveStage(s, d)
					if s.Stage(d) != stage || next < first+minStageDays {
						t.Fatalf("%v is %v, want %v from %v to %v", d, s.Stage(d), stage, first, next)
					}
					sum += rules.Stages[stage].Pace
				}
			}
		})
	}
}

func TestSealingDaysAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rules := drawRules(t)
		s := NewSeason(drawPlace(t), &rules)
		day := func(what string) Date { return MinDate + Date(spread(t, what, int(MaxDate-MinDate))) }
		a, b, c := day("a"), day("b"), day("c")
		a, b, c = min(a, b, c), a+b+c-min(a, b, c)-max(a, b, c), max(a, b, c)
		if got, want := s.SealingDays(a, b)+s.SealingDays(b, c), s.SealingDays(a, c); math.Abs(got-want) > 1e-6 {
			t.Fatalf("%v, %v, %v: %.9g sealing days in two parts, %.9g in one", a, b, c, got, want)
		}
		if got := s.SealingDays(c, a); got != 0 {
			t.Fatalf("back from %v to %v: %g sealing days", c, a, got)
		}
		if got := s.SealingDays(b, b+1); math.Abs(got-s.Pace(b)) > 1e-9 {
			t.Fatalf("one day from %v: %g, want its pace %g", b, got, s.Pace(b))
		}
	})
}

func TestSealAges(t *testing.T) {
	rules := DefaultRules()
	s := NewSeason(Place{Latitude: 45.5}, &rules) // flow from 5 Jun to 31 Jul, late summer from 1 Aug
	june, july, august := NewDate(2027, 6, 10), NewDate(2027, 7, 10), NewDate(2027, 8, 6)
	tests := []struct {
		name     string
		openings []Opening
		want     float64 // on 6 August, from 10 June: 52 days of flow and 5 of late summer are 60
	}{
		{"never opened", nil, 60},
		{"scraped", []Opening{{On: july, Scraped: ScrapedAll}}, 30},
		{"scraped in part", []Opening{{On: july, Scraped: ScrapedPart}}, 39},
		{"not scraped", []Opening{{On: july, Scraped: ScrapedNone}}, 48},
		{"scraped? not said", []Opening{{On: july}}, 48},
		{"left shut", []Opening{{On: july, Joint: Stuck, LeftShut: true, Scraped: ScrapedAll}}, 60},
		{"twice on a day", []Opening{{On: july}, {On: july, Scraped: ScrapedPart}}, 30 + 30*0.6*0.3},
		{"today", []Opening{{On: august, Scraped: ScrapedAll}}, 0},
		{"today, not scraped", []Opening{{On: august}}, 36},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			box := Seal{From: june, Since: june}
			for i := range test.openings {
				box.opened(&test.openings[i], box.age(s, test.openings[i].On))
			}
			if got := box.age(s, august); math.Abs(got-test.want) > 1e-9 {
				t.Errorf("%g sealing days, want %g", got, test.want)
			}
		})
	}
}
