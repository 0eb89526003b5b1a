package simulation

import (
	"math"
	"testing"
)

func TestFrontier(t *testing.T) {
	falling := frontier{{10, 0.4}, {20, 0.2}, {40, 0.1}}
	turning := frontier{{20, 0.4}, {15, 0.2}, {40, 0.1}} // fewer visits cost more in prying
	nan := math.NaN()
	for _, tc := range []struct {
		name string
		f    frontier
		at   func(frontier) float64
		want float64
	}{
		{"at a calendar", falling, func(f frontier) float64 { return f.stuckAt(20) }, 0.2},
		{"half way between two", falling, func(f frontier) float64 { return f.stuckAt(30) }, 0.15},
		{"cheaper than any", falling, func(f frontier) float64 { return f.stuckAt(9) }, nan},
		{"dearer than any", falling, func(f frontier) float64 { return f.stuckAt(41) }, nan},
		{"the better of two lines", turning, func(f frontier) float64 { return f.stuckAt(20) }, 0.18},
		{"cost of a number of stuck", falling, func(f frontier) float64 { return f.costAt(0.3) }, 15},
		{"the cheaper of two lines", turning, func(f frontier) float64 { return f.costAt(0.3) }, 17.5},
		{"fewer stuck than any", falling, func(f frontier) float64 { return f.costAt(0.05) }, nan},
	} {
		t.Run(tc.name, func(t *testing.T) {
			got := tc.at(tc.f)
			if math.Abs(got-tc.want) > 1e-12 || math.IsNaN(got) != math.IsNaN(tc.want) {
				t.Errorf("got %g, want %g", got, tc.want)
			}
		})
	}
}

// TestRatios gives the comparisons scores whose ratios are known.
func TestRatios(t *testing.T) {
	score := func(openings, stuck, hours float64) []Score {
		return []Score{{Openings: openings, Stuck: stuck, Hours: hours}, {Openings: openings, Stuck: stuck, Hours: hours}}
	}
	planner := Planner(0.2)
	r := Results{
		Policies: []Policy{Calendar(2), Calendar(3), planner, planner.WithoutAutumn(), planner.Told(), Planner(0.1).Told()},
		Seeds:    []int{1, 2},
		Scores: [][]Score{
			score(2, 0.2, 10), score(3, 0.1, 20),
			score(2.5, 0.06, 15), score(2, 0.2, 8),
			score(2, 0.06, 14), score(3, 0.04, 16),
		},
	}
	got := r.Compare()
	want := []Comparison{
		{EqualHours: Ratio{Value: 0.4}, EqualOpenings: Ratio{Value: 0.4}, HoursForStuck: Ratio{Value: 0.75, AtMost: true}, TrueRates: Ratio{Value: 1.2}},
		{EqualHours: Ratio{Value: math.NaN()}, EqualOpenings: Ratio{Value: 1}, HoursForStuck: Ratio{Value: 0.8}, TrueRates: Ratio{Value: math.NaN()}},
	}
	if len(got) != len(want) {
		t.Fatalf("%d comparisons, want %d", len(got), len(want))
	}
	same := func(a, b Ratio) bool {
		return a.AtMost == b.AtMost && (math.Abs(a.Value-b.Value) < 1e-12 || math.IsNaN(a.Value) && math.IsNaN(b.Value))
	}
	for i := range want {
		g, w := got[i], want[i]
		if !same(g.EqualHours, w.EqualHours) || !same(g.EqualOpenings, w.EqualOpenings) ||
			!same(g.HoursForStuck, w.HoursForStuck) || !same(g.TrueRates, w.TrueRates) {
			t.Errorf("%s: got %+v, want %+v", g.Policy, g, w)
		}
		if r := g.EqualOpenings; r.Low != r.Value || r.High != r.Value { // equal populations leave no doubt
			t.Errorf("%s: interval of equal populations %v", g.Policy, r)
		}
	}
}

// TestIntervalHoldsWhatItShould draws populations with known ratios: the
// interval of the ratio must hold the true one about as often as it says.
func TestIntervalHoldsWhatItShould(t *testing.T) {
	const trials, populations, truth = 60, 20, 0.5
	held := 0
	for trial := range trials {
		d := dice(trial)
		r := Results{Policies: []Policy{Calendar(2), Calendar(3), Planner(0.2)}, Scores: make([][]Score, 3)}
		for j := range populations {
			level := math.Exp(0.3 * d.normal(ofTheDay, j)) // shared by all policies
			own := 1 + 0.2*d.normal(ofJudging, j)
			r.Seeds = append(r.Seeds, j)
			r.Scores[0] = append(r.Scores[0], Score{Stuck: 0.2 * level, Hours: 10})
			r.Scores[1] = append(r.Scores[1], Score{Stuck: 0.2 * level, Hours: 20})
			r.Scores[2] = append(r.Scores[2], Score{Stuck: 0.2 * level * truth * own, Hours: 15})
		}
		if c := r.Compare()[0].EqualHours; c.Low <= truth && truth <= c.High {
			held++
		}
	}
	if held < trials*85/100 || held == trials {
		t.Errorf("%d of %d intervals hold the true ratio, want about 95 of 100", held, trials)
	}
}
