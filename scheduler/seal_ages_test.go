package scheduler

import (
	"math"
	"testing"
)

// TestMaybeOpened works the ages of a seal out by hand.
func TestMaybeOpened(t *testing.T) {
	z := Seal{Left: 10, Since: 1}
	for _, step := range []struct {
		grown, p float64
		left     []float64 // with 0.2 of the mean for what was opened
		weight   []float64
	}{
		{90, 0.5, []float64{100, 20}, []float64{0.5, 0.5}},                          // of 100
		{10, 0.1, []float64{110, 30, 14}, []float64{0.45, 0.45, 0.1}},               // of 70
		{0, 0.5, []float64{110, 30, 14, 12.88}, []float64{0.225, 0.225, 0.05, 0.5}}, // of 64.4
		{0, 0.2, nil, []float64{0.18, 0.22, 0.4, 0.2}},                              // 30 and 14 become one
	} {
		z.maybeOpened(z.Since+1, step.grown, step.p)
		if z.maybe.n != len(step.weight) {
			t.Fatalf("%d ages, want %d", z.maybe.n, len(step.weight))
		}
		mean := 0.0
		for i, w := range step.weight {
			if math.Abs(z.maybe.weight[i]-w) > 1e-12 || step.left != nil && math.Abs(z.maybe.left[i]-step.left[i]) > 1e-12 {
				t.Errorf("ages %v, want %v weighing %v", z.maybe, step.left, step.weight)
			}
			mean += w * z.maybe.left[i]
		}
		if math.Abs(z.Left-mean) > 1e-12 {
			t.Errorf("%g left on average, want %g", z.Left, mean)
		}
	}
	// of 30 with 0.225 and 14 with 0.05
	if want := (30*0.225 + 14*0.05) / 0.275; math.Abs(z.maybe.left[1]-want) > 1e-12 {
		t.Errorf("%g left of both, want %g", z.maybe.left[1], want)
	}
	odds := 0.18*Odds(117, 0.3, 0.4, Hard) + 0.22*Odds(z.maybe.left[1]+7, 0.3, 0.4, Hard) +
		0.4*Odds(19.88, 0.3, 0.4, Hard) + 0.2*Odds(z.maybe.left[3]+7, 0.3, 0.4, Hard)
	if got := z.odds(7, 0.3, 0.4, Hard); math.Abs(got-odds) > 1e-12 {
		t.Errorf("odds %g, want %g", got, odds)
	}
	z.opened(&Opening{On: 99, Scraped: ScrapedNone}, 50)
	if z.maybe.n != 0 || z.Left != 30 {
		t.Errorf("a record leaves %v, %g", z.maybe, z.Left)
	}
	fresh := Seal{Since: 1}
	if fresh.maybeOpened(5, 0, 0.5); fresh.maybe.n != 0 {
		t.Error("nothing had grown, and yet it is in doubt")
	}
}
