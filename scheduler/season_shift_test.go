package scheduler

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestLearnShift(t *testing.T) {
	north, south := Place{Latitude: 45.5}, Place{Latitude: -45.5}
	tests := []struct {
		name  string
		place Place
		seen  []SeasonDay
		want  int
		err   string
	}{
		// at 45.5 the table says 18 Apr, 5 Jun, 1 Aug
		{"as the table says", north, []SeasonDay{{FirstPollen, NewDate(2027, 4, 18)}, {SupersOff, NewDate(2027, 8, 1)}}, 0, ""},
		{"earlier", north, []SeasonDay{{FirstPollen, NewDate(2027, 4, 6)}, {SupersOn, NewDate(2027, 5, 28)}, {SupersOff, NewDate(2027, 7, 25)}}, -9, ""},
		{"over several years", north, []SeasonDay{{SupersOn, NewDate(2025, 6, 9)}, {SupersOn, NewDate(2026, 6, 11)}, {SupersOn, NewDate(2027, 6, 15)}}, 7, ""},
		// and in the south 18 Oct, 5 Dec, 31 Jan: half a year is 182.5 days
		{"south, over the new year", south, []SeasonDay{{SupersOff, NewDate(2027, 1, 21)}, {SupersOff, NewDate(2025, 1, 21)}}, -10, ""},
		{"an old shift does not count", Place{Latitude: 45.5, ShiftDays: 30}, []SeasonDay{{FirstPollen, NewDate(2027, 4, 20)}}, 2, ""},
		{"as late as can be", north, []SeasonDay{{FirstPollen, NewDate(2027, 7, 2)}}, 75, ""},
		{"as early as can be", north, []SeasonDay{{FirstPollen, NewDate(2027, 2, 2)}}, -75, ""},
		{"later than can be", north, []SeasonDay{{FirstPollen, NewDate(2027, 7, 3)}}, 0, "is 76 days from"},
		{"nothing seen", north, nil, 0, "no observed day"},
		{"what is that", north, []SeasonDay{{"first frost", NewDate(2027, 4, 18)}}, 0, `"first frost" is not an event`},
		{"a slip of the pen", north, []SeasonDay{{FirstPollen, NewDate(2027, 10, 18)}}, 0, "first-pollen on 2027-10-18: 18 October 2027 is"},
		{"in the tropics", Place{Latitude: 4}, []SeasonDay{{SupersOn, NewDate(2027, 4, 18)}}, 0, "no flow at this place"},
	}
	rules := DefaultRules()
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := LearnShift(test.place, &rules, test.seen)
			switch {
			case test.err == "" && (err != nil || got != test.want):
				t.Errorf("%d days, %v; want %d", got, err, test.want)
			case test.err != "" && (err == nil || !strings.Contains(err.Error(), test.err)):
				t.Errorf("error %v, want one that says %q", err, test.err)
			}
		})
	}
}

// What is learnt from a shifted season is the shift.
func TestLearnShiftFindsTheShift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shift := rapid.IntRange(-45, 45).Draw(t, "shift")
		lat := rapid.Float64Range(24, 60).Draw(t, "latitude") * float64(rapid.SampledFrom([]int{-1, 1}).Draw(t, "side"))
		rules := DefaultRules()
		starts := NewSeason(Place{Latitude: lat, ShiftDays: shift}, &rules).Starts(1900 + spread(t, "year", 200))
		got, err := LearnShift(Place{Latitude: lat}, &rules, []SeasonDay{
			{FirstPollen, starts[BuildUp]}, {SupersOn, starts[Flow]}, {SupersOff, starts[LateSummer]},
		})
		if err != nil || got < shift-1 || got > shift+1 { // half days and leap days
			t.Fatalf("%d days, %v; want %d", got, err, shift)
		}
	})
}
