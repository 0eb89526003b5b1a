package simulation

import (
	"testing"

	"pryday/scheduler"
)

// TestGrader: coarse keepers know three words, others write what they felt when
// they judge as everybody does.
func TestGrader(t *testing.T) {
	p := &ImperfectClub{grades: [4]float64{0.08, 0.22, 0.5, 1}}
	strengths := []float64{0.05, 0.1, 0.3, 0.7, 2}
	for _, tc := range []struct {
		name   string
		grader grader
		want   []scheduler.Difficulty
	}{
		{"fine", grader{}, []scheduler.Difficulty{0, 1, 2, 3, 4}},
		{"coarse, so-so is firm", grader{coarse: true, so: scheduler.Firm}, []scheduler.Difficulty{0, 0, 2, 2, 4}},
		{"coarse, so-so is hard", grader{coarse: true, so: scheduler.Hard}, []scheduler.Difficulty{0, 0, 3, 3, 4}},
		{"a hard keeper", grader{bias: 1}, []scheduler.Difficulty{1, 2, 3, 4, 4}},
		{"a soft keeper", grader{bias: -1}, []scheduler.Difficulty{0, 0, 1, 2, 3}},
	} {
		for i, strength := range strengths {
			if got := tc.grader.says(p, strength, 1, 1); got != tc.want[i] {
				t.Errorf("%s: %g is %d, want %d", tc.name, strength, got, tc.want[i])
			}
		}
	}
	p.a.JudgingSD = 0.5
	higher := 0
	for box := range 1000 {
		if new(grader).says(p, 0.5, box, 1) >= scheduler.Hard {
			higher++
		}
	}
	if higher < 420 || higher > 580 {
		t.Errorf("%d of 1000 judge a seal on the border hard", higher)
	}
}
