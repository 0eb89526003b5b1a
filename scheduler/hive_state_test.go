package scheduler

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// hiveOf returns a hive with boxes 1 to n of which nothing is known, set up on
// a day.
func hiveOf(n int, on Date) *HiveState {
	h := NewHiveState(9)
	h.advance(on)
	for i := range n {
		h.put(Seal{BoxID: int64(i + 1), Position: i + 1, Since: on, LastHard: NotTried}, marginal{0, boxVariance, on})
	}
	return h
}

func TestHiveStartsFromThePrior(t *testing.T) {
	h := hiveOf(3, NewDate(2025, 1, 1))
	a, n := h.Rate(0), 4
	if a.Mean != 0 || math.Abs(a.Variance-0.45) > 1e-15 {
		t.Errorf("rate of a new box: mean %g, variance %g", a.Mean, a.Variance)
	}
	if cov := h.Cov[0] + h.Cov[1] + h.Cov[2] + h.Cov[1*n+2]; math.Abs(cov-0.31) > 1e-15 {
		t.Errorf("covariance of two boxes %g", cov)
	}
	if v := a.VarianceOn(a.RatedOn + 1461); math.Abs(v-0.65) > 1e-12 {
		t.Errorf("variance %g after four years, want 0.45 + 4 x 0.05", v)
	}
}

// drawSteps opens boxes of h at random.
func drawSteps(t *rapid.T, h *HiveState, most int) {
	for range rapid.IntRange(0, most).Draw(t, "openings before") {
		h.advance(h.On + Date(rapid.IntRange(0, 500).Draw(t, "days")))
		h.observe(rapid.IntRange(0, len(h.Boxes)-1).Draw(t, "box"), rapid.Float64Range(0, 600).Draw(t, "age"),
			spanOf(Difficulty(rapid.IntRange(0, 4).Draw(t, "difficulty"))))
	}
}

func copyState(h *HiveState) *HiveState {
	c := *h
	c.Boxes = append([]Seal(nil), h.Boxes...)
	c.Mean = append([]float64(nil), h.Mean...)
	c.Cov = append([]float64(nil), h.Cov...)
	return &c
}

func TestHarderNeverMeansSlower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := hiveOf(rapid.IntRange(1, 6).Draw(t, "boxes"), NewDate(2025, 1, 1))
		drawSteps(t, h, 12)
		i := rapid.IntRange(0, len(h.Boxes)-1).Draw(t, "opened")
		age := rapid.Float64Range(1, 900).Draw(t, "age")
		var before []BoxRate
		for hard := Loose; hard <= Stuck; hard++ {
			after := copyState(h)
			after.observe(i, age, spanOf(hard))
			for k := range after.Boxes {
				rate := after.Rate(k)
				if hard > Loose && rate.Mean < before[k].Mean-1e-12 {
					t.Fatalf("box %d: mean %g after difficulty %d, %g after one less", k, rate.Mean, hard, before[k].Mean)
				}
				if old := h.Rate(k); rate.Variance > old.Variance+1e-12 || rate.Variance <= 0 {
					t.Fatalf("box %d: variance %g after an opening, %g before", k, rate.Variance, old.Variance)
				}
				if hard == Loose {
					before = append(before, rate)
				} else {
					before[k] = rate
				}
			}
		}
	})
}

// After the last opening of a hive, harder means that no box of it reaches any
// odds later. (An opening before others can break this where records
// contradict each other, stuck after days and loose after months: each update
// keeps two moments only.)
func TestHarderNeverLowersOdds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := hiveOf(rapid.IntRange(1, 6).Draw(t, "boxes"), NewDate(2025, 1, 1))
		drawSteps(t, h, 12)
		i := rapid.IntRange(0, len(h.Boxes)-1).Draw(t, "opened")
		age := rapid.Float64Range(1, 900).Draw(t, "age")
		later := Date(rapid.IntRange(0, 800).Draw(t, "days later"))
		then := rapid.Float64Range(1, 900).Draw(t, "age then")
		at := Difficulty(rapid.IntRange(1, 4).Draw(t, "odds of"))
		before := make([]float64, len(h.Boxes))
		for hard := Loose; hard <= Stuck; hard++ {
			after := copyState(h)
			after.observe(i, age, spanOf(hard))
			for k := range after.Boxes {
				rate := after.Rate(k)
				odds := Odds(then, rate.Mean, rate.VarianceOn(rate.RatedOn+later), at)
				// odds between 0.01 and 0.9 are the limits that rules may set
				if odds < before[k]-1e-12 && before[k] > 0.01 && odds < 0.9 {
					t.Fatalf("box %d: odds %g after difficulty %d, %g after one less", k, odds, hard, before[k])
				}
				before[k] = odds
			}
		}
	})
}

func TestNothingToLearn(t *testing.T) {
	h := hiveOf(2, NewDate(2025, 1, 1))
	want := copyState(h)
	h.observe(0, 0, spanOf(Stuck)) // at age 0
	h.observe(1, -1, spanOf(Hard)) // cannot be
	for k := range h.Cov {
		if h.Cov[k] != want.Cov[k] {
			t.Fatalf("covariances %v, want %v", h.Cov, want.Cov)
		}
	}
}

func TestForgetAndTake(t *testing.T) {
	h := hiveOf(3, NewDate(2025, 1, 1))
	for k := range 6 {
		h.observe(k%3, 150, spanOf(Difficulty(k%3+2)))
	}
	second, third := h.Rate(1), h.Rate(2)

	repaired := copyState(h)
	repaired.forget(1, boxVariance)
	if r := repaired.Rate(0); r.Mean != h.Mean[0] || math.Abs(r.Variance-h.Cov[0]-boxVariance) > 1e-15 {
		t.Errorf("a repaired box keeps mean %g, variance %g", r.Mean, r.Variance)
	}
	if r := repaired.Rate(1); r != second {
		t.Errorf("repairing another box moved %v to %v", second, r)
	}

	requeened := copyState(h)
	requeened.forget(0, hiveVariance)
	if r := requeened.Rate(1); r.Mean != h.Mean[2] || math.Abs(r.Variance-h.Cov[2*4+2]-hiveVariance) > 1e-15 {
		t.Errorf("after a new queen: mean %g, variance %g", r.Mean, r.Variance)
	}

	taken := copyState(h)
	box, own := taken.take(0)
	if box.BoxID != 1 || own.mean != h.Mean[1] || own.variance != h.Cov[1*4+1] {
		t.Errorf("took %v with %v", box, own)
	}
	if r := taken.Rate(0); r != second {
		t.Errorf("taking a box off moved %v to %v", second, r)
	}
	if r := taken.Rate(1); r != third {
		t.Errorf("taking a box off moved %v to %v", third, r)
	}
	if cov, want := taken.Cov[1*3+2], h.Cov[2*4+3]; cov != want {
		t.Errorf("covariance of what is left %g, want %g", cov, want)
	}
}

// Boxes of which nothing is recorded change nothing about the others, however
// many there are.
func TestSilentBoxesChangeNothing(t *testing.T) {
	few, many := hiveOf(2, NewDate(2025, 1, 1)), hiveOf(24, NewDate(2025, 1, 1))
	for k := range 8 {
		for _, h := range []*HiveState{few, many} {
			h.advance(NewDate(2025, 1, 1) + Date(60*k))
			h.observe(k%2, 60*float64(k+1), spanOf(Difficulty(k%5)))
		}
	}
	for i := range 2 {
		a, b := few.Rate(i), many.Rate(i)
		if math.Abs(a.Mean-b.Mean) > 1e-12 || math.Abs(a.Variance-b.Variance) > 1e-12 {
			t.Errorf("box %d: %g and %g among two, %g and %g among many", i+1, a.Mean, a.Variance, b.Mean, b.Variance)
		}
	}
	// and they learn as much as the hive did
	if a, b := many.Rate(5), many.Rate(23); a.Mean != b.Mean || a.Variance >= 0.45+drift(NewDate(2025, 1, 1), many.On) {
		t.Errorf("silent boxes: %g and %g, variance %g", a.Mean, b.Mean, a.Variance)
	}
	s := NewSeason(Place{Latitude: 48}, new(DefaultRules()))
	rate, day := many.Rate(5), NewDate(2027, 1, 1)
	if got, want := rate.Odds(s, day, Hard), Odds(s.SealingDays(NewDate(2025, 1, 1), day), rate.Mean, rate.VarianceOn(day), Hard); got != want || got <= 0 {
		t.Errorf("odds %g, want %g", got, want)
	}
}
