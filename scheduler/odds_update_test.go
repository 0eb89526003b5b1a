package scheduler

import (
	"math"
	"testing"
)

// posterior is the mean and the covariance of (h, u1, u2).
type posterior struct {
	mean [3]float64
	cov  [3][3]float64
}

// byForce updates h of two boxes by an opening as observe should, by summing
// over a grid in three dimensions. The trapezium rule on a whole normal
// density has next to no error.
func byForce(h *HiveState, i int, age float64, hard Difficulty) posterior {
	// the lower triangle l with l l' = Cov
	var l [3][3]float64
	for r := range 3 {
		for c := range r + 1 {
			sum := h.Cov[r*3+c]
			for k := range c {
				sum -= l[r][k] * l[c][k]
			}
			if r == c {
				l[r][c] = math.Sqrt(sum)
			} else {
				l[r][c] = sum / l[c][c]
			}
		}
	}
	bounds := []float64{math.Inf(-1), math.Log(40), math.Log(110), math.Log(220), math.Log(400), math.Inf(1)}
	likely := func(x float64) float64 {
		above := func(c float64) float64 { return 0.5 * math.Erfc((c-math.Log(age)-x)/(1.0*math.Sqrt2)) }
		if hard >= Firm { // the smaller tail first, so that far out nothing cancels
			return above(bounds[hard]) - above(bounds[hard+1])
		}
		below := func(c float64) float64 { return 0.5 * math.Erfc((x-c+math.Log(age))/(1.0*math.Sqrt2)) }
		return below(bounds[hard+1]) - below(bounds[hard])
	}
	const reach, step = 7.5, 0.25
	var p float64
	var out posterior
	var square [3][3]float64
	for a := -reach; a <= reach; a += step {
		for b := -reach; b <= reach; b += step {
			for c := -reach; c <= reach; c += step {
				x := [3]float64{
					h.Mean[0] + l[0][0]*a,
					h.Mean[1] + l[1][0]*a + l[1][1]*b,
					h.Mean[2] + l[2][0]*a + l[2][1]*b + l[2][2]*c,
				}
				w := math.Exp(-(a*a+b*b+c*c)/2) * likely(x[0]+x[i+1])
				p += w
				for r := range 3 {
					out.mean[r] += w * x[r]
					for k := range 3 {
						square[r][k] += w * x[r] * x[k]
					}
				}
			}
		}
	}
	for r := range 3 {
		out.mean[r] /= p
	}
	for r := range 3 {
		for k := range 3 {
			out.cov[r][k] = square[r][k]/p - out.mean[r]*out.mean[k]
		}
	}
	return out
}

func TestUpdateAgreesWithIntegration(t *testing.T) {
	type step struct {
		box  int
		age  float64
		hard Difficulty
	}
	tests := []struct {
		name  string
		steps []step
	}{
		{"hard early", []step{{0, 90, Hard}}},
		{"loose late", []step{{1, 260, Loose}}},
		{"stuck", []step{{0, 300, Stuck}}},
		{"light, then hard in the other box", []step{{0, 120, Light}, {1, 150, Hard}}},
		{"firm, firm, stuck early", []step{{0, 140, Firm}, {0, 160, Firm}, {1, 60, Stuck}}},
		{"a long history", []step{{0, 50, Loose}, {1, 200, Hard}, {0, 230, Firm}, {1, 20, Light}, {0, 500, Stuck}}},
		{"a surprise", []step{{0, 8, Stuck}}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			h := hiveOf(2, NewDate(2025, 1, 1))
			for k, s := range test.steps {
				h.advance(NewDate(2025+k, 1, 1))
				want := byForce(h, s.box, s.age, s.hard)
				h.observe(s.box, s.age, spanOf(s.hard))
				for r := range 3 {
					if d := math.Abs(h.Mean[r] - want.mean[r]); d > 1e-6 {
						t.Errorf("opening %d: mean %d is %.9f, by integration %.9f", k, r, h.Mean[r], want.mean[r])
					}
					for c := range 3 {
						if d := math.Abs(h.Cov[r*3+c] - want.cov[r][c]); d > 1e-6 {
							t.Errorf("opening %d: covariance %d %d is %.9f, by integration %.9f", k, r, c, h.Cov[r*3+c], want.cov[r][c])
						}
					}
				}
			}
		})
	}
}
