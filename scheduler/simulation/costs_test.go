package simulation

import (
	"math"
	"testing"

	"pryday/scheduler"
)

// TestWorkHours adds a year up by hand, from workHours alone.
func TestWorkHours(t *testing.T) {
	var year tally
	for range 2 { // a full super and a loose box below it
		one := tally{visits: 1}
		one.count(scheduler.Loose, true)
		one.count(scheduler.Stuck, false)
		year.add(one)
	}
	// Twice: 2 h and a quarter, two boxes at 0.2, a lift at 0.1, a stuck one at 2.
	if got, want := year.hours(), 2*(2.25+2*0.2+0.1+2); math.Abs(got-want) > 1e-12 {
		t.Errorf("%g hours, want %g", got, want)
	}
	if s := year.score("", 2, 1, 1); math.Abs(s.Hours-year.hours()) > 1e-12 || s.Cold != 0 {
		t.Errorf("scored %+v", s)
	}
}

func TestFull(t *testing.T) {
	for _, tc := range []struct {
		name     string
		level    int
		latitude float64
		on       string
		want     bool
	}{
		{"a super in the flow", 2, 48, "2027-06-15", true},
		{"the brood below it", 1, 48, "2027-06-15", false},
		{"a super before the flow", 2, 48, "2027-05-10", false},
		{"a super after the harvest", 2, 48, "2027-08-05", false},
		{"a super in the southern flow", 3, -38, "2027-12-15", true},
		{"a super in the southern winter", 3, -38, "2027-06-15", false},
		{"in the tropics", 3, 5, "2027-06-15", false},
	} {
		on, err := scheduler.ParseDate(tc.on)
		if err != nil {
			t.Fatal(err)
		}
		if got := full(tc.level, tc.latitude, on); got != tc.want {
			t.Errorf("%s: full is %v", tc.name, got)
		}
	}
	s := &site{boxes: []bees{{hive: 0}, {hive: 0}, {hive: 0}, {hive: 1}, {hive: 1}}, apiary: scheduler.Apiary{Latitude: 48}}
	for i, want := range []bool{false, false, true, false, false} {
		if got := s.full(i, scheduler.NewDate(2027, 6, 15)); got != want {
			t.Errorf("box %d of the tidy place: full is %v", i, got)
		}
	}
}

// TestColdOpenings: who opens in the middle of winter opens in the cold, and who
// opens at midsummer does not.
func TestColdOpenings(t *testing.T) {
	p := NewImperfectClub(2, Size{Apiaries: 1, Hives: 2, Boxes: 2, Years: 2, History: 1}, DefaultImperfect())
	for _, tc := range []struct {
		into int // days after midwinter
		cold bool
	}{{0, true}, {183, false}} {
		k := p.yards[0].begin(true)
		year := scheduler.NewDate(epoch+2, 1, 10)
		k.visit(year+scheduler.Date(tc.into), func(int) bool { return true })
		if got := k.tally.cold == k.tally.openings && k.tally.openings > 0; got != tc.cold || !tc.cold && k.tally.cold > 0 {
			t.Errorf("%d days after midwinter, %d of %d openings in the cold", tc.into, k.tally.cold, k.tally.openings)
		}
	}
}
