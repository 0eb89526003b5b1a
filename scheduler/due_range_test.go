package scheduler

import (
	"math"
	"slices"
	"testing"

	"pryday/testdata/testrun"
)

// TestDueRange draws how fast a box seals from what is known of it, a thousand
// times, and works its due day out from each: eight in ten lie in the range.
func TestDueRange(t *testing.T) {
	lots := testrun.Rand(t)
	wide := 0
	for seed := range uint64(25) {
		c := newDice(seed).club(4, testToday)
		c.Rules.OddsLimit = []float64{0.1, 0.2, 0.4}[seed%3]
		plan := PlanClub(c, testToday)
		a := &c.Apiaries[0]
		rates := ReplayApiary(c, a.ID, testToday)
		for i, s := range plan.Boxes {
			if s.DueFirst > s.Due || s.Due > s.DueLast {
				t.Fatalf("seed %d, box %d: due %s, between %s and %s", seed, s.BoxID, s.Due, s.DueFirst, s.DueLast)
			}
			sure := slices.Clone(rates)
			var days []int
			for range 1000 {
				r := &sure[i]
				*r = rates[i]
				r.Mean += math.Sqrt(r.Variance) * lots.NormFloat64()
				r.Variance, r.RatedOn = 0, MaxDate
				days = append(days, int(dueOf(c, a, sure, i)))
			}
			slices.Sort(days)
			// The middle day of the range itself may be due, whatever is drawn.
			low, high := min(Date(days[100]), s.Due), max(Date(days[900]), s.Due)
			slack := Date(3 + float64(days[940]-days[860])/2 + float64(days[140]-days[60])/2)
			if apart(low, s.DueFirst) > slack || apart(high, s.DueLast) > slack {
				t.Errorf("seed %d, box %d: %s to %s, drawn %s to %s", seed, s.BoxID, s.DueFirst, s.DueLast, low, high)
			}
			if s.DueLast > s.DueFirst+30 {
				wide++
			}
		}
	}
	if wide < 25 {
		t.Errorf("only %d ranges are wide", wide)
	}
}

func apart(a, b Date) Date { return max(a-b, b-a) }

// dueOf works out when the i-th box of an apiary is due, by the rules alone.
func dueOf(c *Club, a *Apiary, rates Rates, i int) Date {
	var p projection
	p.begin(c, a, newDueRules(c), rates, testToday)
	return testToday + Date(p.start[i].due)
}
