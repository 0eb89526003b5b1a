package scheduler

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestNeighbourWeight(t *testing.T) {
	for _, test := range []struct{ km, m, want float64 }{
		{0, 0, 0.5},
		{20, 0, 0.25},
		{0, 200, 0.25},
		{0, -200, 0.25}, // as much lower
		{20, 200, 0.5 / 3},
		{180, 0, 0.05},
	} {
		if got := neighbourWeight(test.km, test.m); math.Abs(got-test.want) > 1e-12 {
			t.Errorf("%g km and %g m: %g, want %g", test.km, test.m, got, test.want)
		}
	}
}

// dayOff is a day on which supers went on, so many days after the start of the
// flow that the region of a place has for it.
func dayOff(a *Apiary, region Region, days int) SeasonDay {
	rules := DefaultRules()
	s := NewSeason(Place{Latitude: a.Latitude, ElevationM: a.ElevationM, Region: region}, &rules)
	return SeasonDay{SupersOn, s.Starts(2026)[Flow] + Date(days)}
}

func TestNeighbours(t *testing.T) {
	rules := DefaultRules()
	home := Apiary{ID: 1, Latitude: 51, Longitude: 7.9, ElevationM: 100} // western Europe
	const degreeKM = 6371 * math.Pi / 180
	north := Apiary{ID: 2, Latitude: 51 + 20/degreeKM, Longitude: 7.9, ElevationM: 100, SeasonShiftDays: 30}
	above := Apiary{ID: 3, Latitude: 51, Longitude: 7.9, ElevationM: 300}
	across := Apiary{ID: 4, Latitude: 51, Longitude: 8.1, ElevationM: 100} // continental
	far := Apiary{ID: 5, Latitude: 53, Longitude: 7.9, ElevationM: 100}
	blind := Apiary{ID: 6, Latitude: 51, Longitude: 7.9, ElevationM: 100}
	home.Seen = []SeasonDay{dayOff(&home, WesternEurope, 5)}
	north.Seen = []SeasonDay{dayOff(&north, WesternEurope, -6), dayOff(&north, WesternEurope, -10)}
	above.Seen = []SeasonDay{dayOff(&above, WesternEurope, 3), dayOff(&above, WesternEurope, 150)} // the second is a slip of the pen
	across.Seen = []SeasonDay{dayOff(&across, WesternEurope, 4)}
	far.Seen = []SeasonDay{dayOff(&far, WesternEurope, 4)}

	got := home.Neighbours([]Apiary{home, north, above, across, far, blind}, &rules)
	want := []Neighbour{
		// 14 km to the east, compared in the region of home though it lies in another
		{ApiaryID: 4, Days: 1, Off: 4, Weight: 0.294},
		{ApiaryID: 2, Days: 2, Off: -8, Weight: 0.25},
		{ApiaryID: 3, Days: 1, Off: 3, Weight: 0.25},
	}
	same := func(x, y Neighbour) bool {
		return x.ApiaryID == y.ApiaryID && x.Days == y.Days && x.Off == y.Off && math.Abs(x.Weight-y.Weight) < 0.001
	}
	if !slices.EqualFunc(got, want, same) {
		t.Errorf("neighbours %+v,\nwant %+v", got, want)
	}
}

// One's own day counts once, a neighbour its weight, and the rules the rest
// where there is less than a day.
func TestLearnShiftFromNeighbours(t *testing.T) {
	p := at(45.5, 0, 40)                             // flow from 5 June; an old shift does not count
	own := SeasonDay{SupersOn, NewDate(2027, 6, 15)} // 10 days late
	near := func(w, off float64) Neighbour { return Neighbour{Weight: w, Off: off, Days: 3} }
	tests := []struct {
		name string
		seen []SeasonDay
		near []Neighbour
		want int
	}{
		{"one's own alone", []SeasonDay{own}, nil, 10},
		{"half of a neighbour's", nil, []Neighbour{near(0.5, 10)}, 5},
		{"a quarter", nil, []Neighbour{near(0.25, 20)}, 5},
		{"several make more than a day", nil, []Neighbour{near(0.5, 12), near(0.5, 12), near(0.5, 0)}, 8}, // 12 / 1.5
		{"one's own outweighs a neighbour", []SeasonDay{own}, []Neighbour{near(0.5, -5)}, 5},              // 7.5 / 1.5
		{"two of one's own more so", []SeasonDay{own, own}, []Neighbour{near(0.5, -5)}, 7},                // 17.5 / 2.5
	}
	rules := DefaultRules()
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got, err := LearnShift(p, &rules, test.seen, test.near...); err != nil || got != test.want {
				t.Errorf("%d days, %v; want %d", got, err, test.want)
			}
		})
	}
}

// However many neighbours there are, what is learnt lies between the rules and
// the outermost day, and own days always count for more than a neighbour's.
func TestLearnShiftStaysBetween(t *testing.T) {
	rules := DefaultRules()
	rapid.Check(t, func(t *rapid.T) {
		p := at(rapid.Float64Range(24, 60).Draw(t, "latitude"), 0, 0)
		start := NewSeason(p, &rules).Starts(2027)[Flow]
		off := rapid.IntRange(-60, 60).Draw(t, "own")
		var near []Neighbour
		least, most := min(0, off), max(0, off)
		for range rapid.IntRange(0, 6).Draw(t, "neighbours") {
			n := Neighbour{Weight: neighbourWeight(rapid.Float64Range(0, 100).Draw(t, "km"), 0), Off: rapid.Float64Range(-60, 60).Draw(t, "off")}
			near = append(near, n)
			least, most = min(least, int(math.Floor(n.Off))), max(most, int(math.Ceil(n.Off)))
		}
		got, err := LearnShift(p, &rules, []SeasonDay{{SupersOn, start + Date(off)}}, near...)
		if err != nil || got < least || got > most {
			t.Fatalf("%d days, %v; want from %d to %d", got, err, least, most)
		}
		if len(near) == 1 && math.Abs(float64(got-off)) > math.Abs(float64(got)-near[0].Off)+1 {
			t.Fatalf("%d days lies nearer to the neighbour's %g than to one's own %d", got, near[0].Off, off)
		}
	})
}

func TestSeenDaysAreInOrder(t *testing.T) {
	day := func(e SeasonEvent, d int) SeasonDay { return SeasonDay{e, NewDate(2027, 4, d)} }
	seen := []SeasonDay{day(FirstPollen, 9)}
	got := See(seen, day(SupersOff, 1), day(FirstPollen, 2), day(SupersOn, 3), day(FirstPollen, 9))
	want := []SeasonDay{day(FirstPollen, 2), day(FirstPollen, 9), day(SupersOn, 3), day(SupersOff, 1)}
	if !slices.Equal(got, want) {
		t.Errorf("seen %v, want %v", got, want)
	}
	if got := Unsee(got, day(SupersOn, 3), day(SupersOn, 4)); !slices.Equal(got, slices.Delete(slices.Clone(want), 2, 3)) {
		t.Errorf("without one day %v", got)
	}
	if seen[0] != day(FirstPollen, 9) || len(seen) != 1 {
		t.Errorf("the days of before are now %v", seen)
	}
}
