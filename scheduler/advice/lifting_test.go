package advice

import (
	"math"
	"testing"

	"pryday/scheduler"
)

// TestLiftingMultipliers checks the multipliers against the tables of the
// manual (NIOSH Publication No. 94-110, 2021), which print two decimals.
func TestLiftingMultipliers(t *testing.T) {
	for _, tc := range []struct {
		name  string
		f     func(float64) float64
		at    float64
		table float64
	}{
		{"HM(25)", hm, 25, 1},
		{"HM(40)", hm, 40, 0.63},
		{"HM(63)", hm, 63, 0.40}, // from memory
		{"HM beyond 63", hm, 64, 0},
		{"HM below 25", hm, 10, 1},
		{"VM(0)", vm, 0, 0.78}, // from memory
		{"VM(30)", vm, 30, 0.87},
		{"VM(75)", vm, 75, 1},
		{"VM(150)", vm, 150, 0.78},
		{"VM(175)", vm, 175, 0.70}, // from memory
		{"VM beyond 175", vm, 176, 0},
		{"DM(25)", dm, 25, 1},
		{"DM(55)", dm, 55, 0.90},
		{"DM(175)", dm, 175, 0.85}, // from memory
		{"DM beyond 175", dm, 176, 0},
		{"AM(0)", am, 0, 1},
		{"AM(45)", am, 45, 0.86},
		{"AM(135)", am, 135, 0.57}, // from memory
		{"AM beyond 135", am, 136, 0},
	} {
		// The table rounds, and HM(40) = 0.625 stands there as 0.63.
		if got := tc.f(tc.at); math.Abs(got-tc.table) > 0.005+1e-9 {
			t.Errorf("%s = %.4f, the table says %.2f", tc.name, got, tc.table)
		}
	}
}

// TestRecommendedWeight: the best lift of all is the load constant, 23 kg,
// and each worsening lowers it (the same manual).
func TestRecommendedWeight(t *testing.T) {
	best := Lift{H: 25, V: 75, D: 25, A: 0, F: 1, C: 1}
	if got := best.RecommendedKg(); math.Abs(got-23) > 1e-9 {
		t.Errorf("the ideal lift is limited to %v kg, want 23", got)
	}
	for name, worse := range map[string]Lift{
		"farther": {H: 40, V: 75, D: 25, F: 1, C: 1}, "lower": {H: 25, V: 30, D: 25, F: 1, C: 1},
		"higher": {H: 25, V: 150, D: 25, F: 1, C: 1}, "longer way": {H: 25, V: 75, D: 70, F: 1, C: 1},
		"turned": {H: 25, V: 75, D: 25, A: 45, F: 1, C: 1}, "poor grip": {H: 25, V: 75, D: 25, F: 1, C: 0.9},
	} {
		if got := worse.RecommendedKg(); got >= 23 {
			t.Errorf("%s: %v kg, not below 23", name, got)
		}
	}
	if got := (Lift{H: 70, V: 75, D: 25, F: 1, C: 1}).Index(1); !math.IsInf(got, 1) {
		t.Errorf("beyond reach the index is %v, want +Inf", got)
	}
}

// TestStackLifts: a hive with three supers in the flow. Worked by hand from
// the equation: the top shallow's grip is at 35 + 2 x 24.4475 + 2 x 14.44625 +
// 14.44625 - 6.5 = 120.7 cm; H = 20 + 41.275/2 = 40.6 cm; D from there to
// 30 + 7.95 cm is 82.8 cm; RWL = 23 x 0.615 x 0.863 x 0.874 x 0.856 = 9.1 kg,
// and where it is set down, V = 37.9 cm: 23 x 0.615 x 0.889 x 0.874 x 0.856 x 0.95 = 8.9 kg.
func TestStackLifts(t *testing.T) {
	c := &scheduler.Club{Rules: scheduler.DefaultRules()}
	h := &scheduler.Hive{Boxes: []scheduler.Box{
		{ID: 1, Name: "D1", Kind: "deep"},
		{ID: 2, Name: "D2", Kind: "deep"},
		{ID: 3, Name: "S1", Kind: "shallow"},
		{ID: 4, Name: "S2", Kind: "shallow"},
		{ID: 5, Name: "S3", Kind: "shallow"},
	}}
	top := StackLifts(c, h, scheduler.Flow, []int64{5})[0]
	if math.Abs(top.RWL-8.9) > 0.1 || top.Kg != 20 {
		t.Errorf("top shallow: %.2f kg against a limit of %.2f, want 20 against 8.9", top.Kg, top.RWL)
	}
	if top.Method != FramesOut {
		t.Errorf("top shallow, full: method %q, want frames out", top.Method)
	}
	if got := StackLifts(c, h, scheduler.BuildUp, []int64{5})[0]; got.Kg >= top.Kg || got.Method == FramesOut {
		t.Errorf("an almost empty shallow in build-up: %.1f kg, method %q", got.Kg, got.Method)
	}
	for _, kind := range []string{"deep", "medium", "shallow"} {
		h.Boxes[4].Kind = kind
		l := StackLifts(c, h, scheduler.Flow, []int64{5})[0]
		if l.Index <= 1 {
			t.Errorf("a full %s rates as a lift for one (index %.2f)", kind, l.Index)
		}
		if math.Abs(l.Index-l.Kg/l.RWL) > 1e-9 {
			t.Errorf("%s: index %v is not %v / %v", kind, l.Index, l.Kg, l.RWL)
		}
	}
	h.Boxes[4].Kind = "unheard of"
	if got := StackLifts(c, h, scheduler.Flow, []int64{5})[0]; got.Kg != 40 {
		t.Errorf("an unknown kind is taken for %v kg, want the deep's 40", got.Kg)
	}
	tall := &scheduler.Hive{Boxes: make([]scheduler.Box, 9)}
	for i := range tall.Boxes {
		tall.Boxes[i] = scheduler.Box{ID: int64(i + 1), Name: "D", Kind: "deep"}
	}
	if got := StackLifts(c, tall, scheduler.BuildUp, []int64{9})[0]; !math.IsInf(got.Index, 1) || got.Method != FramesOut {
		t.Errorf("a box above reach: index %v, method %q", got.Index, got.Method)
	}
}
