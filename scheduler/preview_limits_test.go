package scheduler

import "testing"

// Each limit comes to what a preview of the rules with it says, and a lower one
// to more openings of which fewer are stuck.
func TestPreviewLimits(t *testing.T) {
	for seed := range uint64(12) {
		c := twoApiaries(seed)
		if seed%2 == 0 {
			remember(c, PlanClub(c, testToday))
		}
		limits := []float64{0.05, c.Rules.OddsLimit, 0.5}
		got := PreviewLimits(c, limits, testToday)
		for i, limit := range limits {
			rules := c.Rules
			rules.OddsLimit = limit
			if want := Preview(c, rules, testToday).After; got[i].Limit != limit || got[i].PreviewSide != want {
				t.Fatalf("seed %d, limit %g: %+v, want %+v", seed, limit, got[i], want)
			}
		}
		if strict, lax := got[0], got[2]; strict.Openings < lax.Openings || strict.Hard+strict.Stuck > lax.Hard+lax.Stuck {
			t.Errorf("seed %d: a lower limit comes to %+v, a higher one to %+v", seed, strict, lax)
		}
	}
}
