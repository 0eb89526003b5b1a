package scheduler

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestOwnStarts(t *testing.T) {
	md := func(month, day int) MonthDay { return MonthDay{Month: time.Month(month), Day: day} }
	all := [NumStages]MonthDay{md(3, 20), md(5, 1), md(7, 10), md(9, 10), md(11, 1)}
	southern := [NumStages]MonthDay{md(8, 15), md(10, 1), md(1, 5), md(3, 10), md(6, 1)}
	home := &Home{Latitude: 48, ElevationM: 300}
	none := MonthDay{}
	tests := []struct {
		name   string
		starts [NumStages]MonthDay
		home   *Home
		place  Place
		year   int
		want   string
	}{
		{"at home", all, home, at(48, 300, 0), 2028, "2028-03-20 2028-05-01 2028-07-10 2028-09-10 2028-11-01"},
		{"with the apiary's own shift over them", all, home, at(48, 300, 3), 2027, "2027-03-23 2027-05-04 2027-07-13 2027-09-13 2027-11-04"},
		// Hopkins: four days per degree, spring later and autumn earlier
		{"two degrees north", all, home, at(50, 300, 0), 2027, "2027-03-28 2027-05-09 2027-07-10 2027-09-02 2027-10-24"},
		{"one degree south", all, home, at(47, 300, 0), 2027, "2027-03-16 2027-04-27 2027-07-10 2027-09-14 2027-11-05"},
		{"500 m higher", all, home, at(48, 800, 0), 2027, "2027-03-31 2027-05-12 2027-07-10 2027-08-30 2027-10-21"},
		{"the other side of the equator", all, home, at(-48, 300, 0), 2026, "2026-09-19 2026-10-31 2027-01-09 2027-03-12 2027-05-03"},
		{"no home: as they stand", all, nil, at(60, 0, 0), 2027, "2027-03-20 2027-05-01 2027-07-10 2027-09-10 2027-11-01"},
		{"a southern home over a leap day", southern, &Home{-38, 0}, at(-38, 0, 0), 2027, "2027-08-15 2027-10-01 2028-01-05 2028-03-10 2028-06-01"},
		{"a southern home over a common year", southern, &Home{-38, 0}, at(-38, 0, 0), 2026, "2026-08-15 2026-10-01 2027-01-05 2027-03-10 2027-06-01"},
		{
			"some only: the rest from the table",
			[NumStages]MonthDay{none, md(5, 20), none, none, none},
			&Home{40.5, 0},
			at(40.5, 0, 0),
			2027,
			"2027-03-28 2027-05-20 2027-07-25 2027-09-28 2027-11-05",
		},
		{
			"some only, the table's yielding",
			[NumStages]MonthDay{none, md(3, 30), none, none, none},
			&Home{40.5, 0},
			at(40.5, 0, 0),
			2027,
			"2027-03-16 2027-03-30 2027-07-25 2027-09-28 2027-11-05",
		},
		{
			"winter only, before the table's autumn",
			[NumStages]MonthDay{none, none, none, none, md(9, 20)},
			&Home{40.5, 0},
			at(40.5, 0, 0),
			2027,
			"2027-03-28 2027-05-15 2027-07-25 2027-09-06 2027-09-20",
		},
		{
			"winter only, in the south",
			[NumStages]MonthDay{none, none, none, none, md(5, 20)},
			&Home{-40.5, 0},
			at(-40.5, 0, 0),
			2026,
			"2026-09-27 2026-11-14 2027-01-24 2027-03-30 2027-05-20",
		},
		{
			"winter in January",
			[NumStages]MonthDay{none, none, none, none, md(1, 2)},
			&Home{30.5, 0},
			at(30.5, 0, 0),
			2027,
			"2027-02-12 2027-04-05 2027-07-05 2027-11-01 2028-01-02",
		},
		{"in the tropics", all, &Home{-1.3, 1700}, at(-1.3, 1700, 0), 2027, "2027-03-20 2027-05-01 2027-07-10 2027-09-10 2027-11-01"},
		{"two seasons in the tropics", [NumStages]MonthDay{none, md(3, 20), md(6, 10), none, none}, nil, at(-1.3, 1700, 0), 2027, " 2027-03-20 2027-06-10  "},
		{
			"29 February",
			[NumStages]MonthDay{md(2, 29), md(5, 1), md(7, 10), md(9, 10), md(11, 1)},
			home,
			at(48, 300, 0),
			2027,
			"2027-02-28 2027-05-01 2027-07-10 2027-09-10 2027-11-01",
		},
		{
			"29 February in a leap year",
			[NumStages]MonthDay{md(2, 29), md(5, 1), md(7, 10), md(9, 10), md(11, 1)},
			home,
			at(48, 300, 0),
			2028,
			"2028-02-29 2028-05-01 2028-07-10 2028-09-10 2028-11-01",
		},
		{
			"too close together",
			[NumStages]MonthDay{md(4, 1), md(4, 5), md(7, 10), md(9, 10), md(11, 1)},
			home,
			at(48, 300, 0),
			2027,
			"2027-04-01 2027-04-15 2027-07-10 2027-09-10 2027-11-01",
		},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			rules := DefaultRules()
			rules.Home = test.home
			for i, m := range test.starts {
				rules.Stages[i].Starts = m
			}
			s := NewSeason(test.place, &rules)
			if got := written(s.Starts(test.year)); got != test.want {
				t.Errorf("starts %s,\nwant   %s", got, test.want)
			}
			if got := s.Source().From; got != FromOwnDates {
				t.Errorf("dates rest on %s", got)
			}
		})
	}
}

func TestOwnDatesStandEveryYear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// five dates at least three weeks apart, beginning anywhere in the year
		first := spread(t, "first", 365)
		rules := DefaultRules()
		rules.Home = &Home{Latitude: rapid.Float64Range(-66, 66).Draw(t, "latitude")}
		day := first
		for i := range rules.Stages {
			_, m, dom := (NewDate(commonYear, 1, 1) + Date(day%365)).Civil()
			rules.Stages[i].Starts = MonthDay{m, dom}
			day += rapid.IntRange(21, 80).Draw(t, "days")
		}
		s := NewSeason(Place{Latitude: rules.Home.Latitude}, &rules)
		year := 1801 + spread(t, "year", 399)
		for i, start := range s.Starts(year) {
			if m := rules.Stages[i].Starts; start != m.In(start.Year()) {
				t.Fatalf("%v starts on %v, want %d %v", Stage(i), start, m.Day, m.Month)
			}
		}
	})
}

func TestSourceSaysWhereDatesComeFrom(t *testing.T) {
	rules := DefaultRules()
	own := DefaultRules()
	own.Stages[Flow].Starts = MonthDay{5, 1}
	tests := []struct {
		name  string
		place Place
		rules *Rules
		want  string
	}{
		{"table", Place{Latitude: 44.1}, &rules, "bands of latitude for continental lands, at 44.1 degrees north"},
		{"a region's table", Place{Latitude: 44.1, Region: WesternEurope}, &rules, "for western Europe, at 44.1 degrees north"},
		{"south", Place{Latitude: -44.1}, &rules, "degrees south"},
		{"shift", Place{Latitude: 44, ShiftDays: -4}, &rules, "all 4 days earlier here"},
		{"tropics", Place{Latitude: 3}, &rules, "follow rain"},
		{"own", Place{Latitude: 44}, &own, "own dates for flow"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := english(NewSeason(test.place, test.rules).Source().Text()); !strings.Contains(got, test.want) {
				t.Errorf("%q does not say %q", got, test.want)
			}
		})
	}
}
