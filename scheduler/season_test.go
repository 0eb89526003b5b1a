package scheduler

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// written returns the starts of a season as a table would print them.
func written(starts [NumStages]Date) string {
	return fmt.Sprintf("%v %v %v %v %v", starts[0], starts[1], starts[2], starts[3], starts[4])
}

// at returns a place in the continental region.
func at(latitude, elevationM float64, shiftDays int) Place {
	return Place{Latitude: latitude, ElevationM: elevationM, ShiftDays: shiftDays}
}

func TestStartsAtAPlace(t *testing.T) {
	tests := []struct {
		name  string
		place Place
		year  int
		want  string
	}{
		{"a band's centre", at(40.5, 0, 0), 2027, "2027-03-28 2027-05-15 2027-07-25 2027-09-28 2027-11-05"},
		{"a band's centre in a leap year", at(35.5, 0, 0), 2028, "2028-03-05 2028-04-25 2028-07-15 2028-10-15 2028-11-20"},
		{"below the first centre", at(23.5, 0, 0), 2027, "2027-01-25 2027-03-10 2027-06-20 2027-11-15 2027-12-20"},
		{"beyond the last centre", at(70, 0, 0), 2027, "2027-04-28 2027-06-25 2027-08-08 2027-08-28 2027-09-20"},
		// 28 Mar and 18 Apr, 15 May and 5 Jun, 25 Jul and 1 Aug, 28 Sep and 20 Sep, 5 Nov and 25 Oct: half rounds up
		{"half way between two centres", at(43, 0, 0), 2027, "2027-04-08 2027-05-26 2027-07-29 2027-09-24 2027-10-31"},
		{"a fifth of the way", at(41.5, 0, 0), 2027, "2027-04-01 2027-05-19 2027-07-26 2027-09-26 2027-11-03"},
		// 1000 m: 22 days
		{"on a mountain", at(45.5, 1000, 0), 2027, "2027-05-10 2027-06-27 2027-08-01 2027-08-29 2027-10-03"},
		{"below the sea", at(45.5, -100, 0), 2027, "2027-04-16 2027-06-03 2027-08-01 2027-09-22 2027-10-27"},
		{"so high that stages would meet", at(45.5, 3000, 0), 2027, "2027-06-23 2027-08-10 2027-08-24 2027-09-07 2027-09-21"},
		{"its own shift", at(40.5, 0, -10), 2027, "2027-03-18 2027-05-05 2027-07-15 2027-09-18 2027-10-26"},
		// 182.5 days after the northern dates of the year, rounded up
		{"south", at(-40.5, 0, 0), 2026, "2026-09-27 2026-11-14 2027-01-24 2027-03-30 2027-05-07"},
		{"south, with a leap day on the way", at(-40.5, 0, 0), 2027, "2027-09-27 2027-11-14 2028-01-24 2028-03-29 2028-05-06"},
		{"south, build-up in the year after the table's", at(-35.5, 6000, 0), 2027, "2027-01-14 2027-03-06 2027-03-20 2027-04-03 2027-04-17"},
		{"the same with a leap day before", at(-35.5, 6000, 0), 2029, "2029-01-14 2029-03-06 2029-03-20 2029-04-03 2029-04-17"},
		// 15 April 2028 less 105 days is 1 January 2028, of other years 31 December
		{"on New Year's Eve", at(50.5, 0, -105), 2026, "2026-12-31 2027-02-23 2027-04-22 2027-06-07 2027-07-12"},
		{"on New Year's Eve before a leap year", at(50.5, 0, -105), 2027, "2027-12-31 2028-02-24 2028-04-22 2028-06-07 2028-07-12"},
		{"shifted over the new year", at(25.5, 0, -30), 2027, "2027-12-26 2028-02-09 2028-05-21 2028-10-16 2028-11-20"},
	}
	rules := DefaultRules()
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got := written(NewSeason(test.place, &rules).Starts(test.year))
			if got != test.want {
				t.Errorf("starts %s, want %s", got, test.want)
			}
		})
	}
}

func TestTropicsAreOneFlow(t *testing.T) {
	rules := DefaultRules()
	for _, lat := range []float64{0, 23.43, -23.43, -1.3, math.NaN()} {
		s := NewSeason(Place{Latitude: lat, ElevationM: 1600, ShiftDays: 5}, &rules)
		if got := s.Source().From; got != FromTropics {
			t.Fatalf("latitude %g: dates rest on %s, want the tropics", lat, got)
		}
		if got := written(s.Starts(2028)); got != " 2028-01-01   " {
			t.Errorf("latitude %g: starts %q", lat, got)
		}
		for d := NewDate(2027, 12, 1); d < NewDate(2029, 2, 1); d++ {
			if s.Stage(d) != Flow || !s.MayOpen(d) || s.InReseal(d) {
				t.Fatalf("latitude %g: %v is %v", lat, d, s.Stage(d))
			}
		}
		first, last := s.StageSpan(NewDate(2028, 6, 1))
		if first != NewDate(2028, 1, 1) || last != NewDate(2028, 12, 31) {
			t.Errorf("latitude %g: the stage runs from %v to %v", lat, first, last)
		}
	}
	for _, lat := range []float64{23.44, -23.44} {
		if got := NewSeason(Place{Latitude: lat}, &rules).Source().From; got != FromBands {
			t.Errorf("latitude %g: dates rest on %s, want the table", lat, got)
		}
	}
}

// spread draws a number from 0 up to, not including, n, all about as often;
// rapid by itself prefers small ones.
func spread(t *rapid.T, what string, n int) int {
	return int(rapid.Uint32().Draw(t, what) * 2654435761 % uint32(n))
}

// drawPlace draws places of every kind, some of them impossible to live in.
func drawPlace(t *rapid.T) Place {
	return Place{
		Latitude:   rapid.Float64Range(-90, 90).Draw(t, "latitude"),
		ElevationM: rapid.Float64Range(-430, 6000).Draw(t, "elevation"),
		ShiftDays:  rapid.IntRange(-180, 180).Draw(t, "shift"),
	}
}

// drawRules draws rules, of which half have some of the club's own dates, in
// whatever order.
func drawRules(t *rapid.T) Rules {
	r := DefaultRules()
	if rapid.Bool().Draw(t, "own dates") {
		for i := range r.Stages {
			if rapid.Bool().Draw(t, "own") {
				r.Stages[i].Starts = MonthDay{
					time.Month(rapid.IntRange(1, 12).Draw(t, "month")),
					rapid.IntRange(1, 29).Draw(t, "day"),
				}
			}
		}
		if rapid.Bool().Draw(t, "home") {
			r.Home = &Home{rapid.Float64Range(-90, 90).Draw(t, "home latitude"), rapid.Float64Range(0, 3000).Draw(t, "home elevation")}
		}
	}
	for i := range r.Stages {
		r.Stages[i].Pace = rapid.Float64Range(0, 5).Draw(t, "pace")
	}
	return r
}

func TestStagesFollowEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rules := drawRules(t)
		s := NewSeason(drawPlace(t), &rules)
		year := 1800 + spread(t, "year", 401)
		var days []Date
		for _, start := range s.Starts(year) {
			if start != 0 {
				days = append(days, start)
			}
		}
		if got := days[0].Year(); got != year {
			t.Fatalf("the sequence of %d starts on %v", year, days[0])
		}
		for _, start := range s.Starts(year + 1) {
			if start != 0 {
				days = append(days, start)
				break
			}
		}
		for i := 1; i < len(days); i++ {
			if days[i] < days[i-1]+minStageDays {
				t.Fatalf("a stage lasts from %v to %v", days[i-1], days[i])
			}
		}
		if n := days[len(days)-1] - days[0]; n < 364 || n > 367 {
			t.Fatalf("the year from %v has %d days", days[0], n)
		}
	})
}

// naiveStage walks the starts of the years around d.
func naiveStage(s *Season, d Date) (stage Stage, first, next Date) {
	for year := d.Year() - 2; year <= d.Year()+1; year++ {
		for i, start := range s.Starts(year) {
			switch {
			case start == 0:
			case start <= d:
				stage, first = Stage(i), start
			case next == 0:
				next = start
			}
		}
	}
	return stage, first, next
}

func TestSeasonAgreesWithADayLoop(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rules := drawRules(t)
		rules.ResealDays = rapid.IntRange(0, 90).Draw(t, "reseal days")
		s := NewSeason(drawPlace(t), &rules)
		a := MinDate + Date(spread(t, "from", int(MaxDate-MinDate)-900))
		b := a + Date(spread(t, "days", 900))
		var sum float64
		for d := a; d < b; d++ {
			stage, first, next := naiveStage(s, d)
			if got := s.Stage(d); got != stage {
				t.Fatalf("%v is %v, want %v", d, got, stage)
			}
			if f, l := s.StageSpan(d); f != first || l != next-1 {
				t.Fatalf("the stage of %v runs from %v to %v, want %v to %v", d, f, l, first, next-1)
			}
			if got := s.Pace(d); got != rules.Stages[stage].Pace {
				t.Fatalf("pace %g on %v", got, d)
			}
			reseal := false
			for k := d; k <= d+Date(rules.ResealDays) && !reseal; k++ {
				reseal = s.Stage(k) == Winter
			}
			if got := s.InReseal(d); got != (reseal && stage != Winter) {
				t.Fatalf("in the reseal days on %v: %t", d, got)
			}
			if got := s.MayOpen(d); got != (rules.Stages[stage].Open && !s.InReseal(d)) {
				t.Fatalf("may open on %v: %t", d, got)
			}
			if got := s.SealingDays(a, d); math.Abs(got-sum) > 1e-7 {
				t.Fatalf("%v to %v is %.9g sealing days, want %.9g", a, d, got, sum)
			}
			sum += s.Pace(d)
		}
	})
}

func TestEverySouthernDayHasItsStage(t *testing.T) {
	rules := DefaultRules()
	s := NewSeason(Place{Latitude: -37.8}, &rules)
	seen := map[Stage]int{}
	for d := NewDate(2027, 7, 1); d < NewDate(2028, 7, 1); d++ {
		seen[s.Stage(d)]++
	}
	want := map[Stage]int{BuildUp: 49, Flow: 75, LateSummer: 79, Autumn: 38, Winter: 125}
	total := 0
	for stage, days := range seen {
		total += days
		if math.Abs(float64(days-want[stage])) > 2 {
			t.Errorf("%v lasts %d days, want about %d", stage, days, want[stage])
		}
	}
	if total != 366 {
		t.Errorf("%d days in the year over 29 February", total)
	}
	if got := s.Stage(NewDate(2028, 6, 30)); got != Winter {
		t.Errorf("30 June is %v, want the southern winter", got)
	}
}

func TestSeasonLookupsDoNotAllocate(t *testing.T) {
	rules := DefaultRules()
	s := NewSeason(Place{Latitude: 47}, &rules)
	d, sum := NewDate(2027, 6, 1), 0.0
	allocs := testing.AllocsPerRun(100, func() {
		sum += s.SealingDays(d, d+700) + s.Pace(d)
		s.MayOpen(d)
		s.StageSpan(d)
	})
	if allocs != 0 {
		t.Errorf("%g allocations", allocs)
	}
}
