package scheduler

import (
	"fmt"
	"math"
	"testing"
)

// posterior is the mean and the covariance of (h, u1, u2).
type posterior struct {
	mean [3]float64
	cov  [3][3]float64
}

// byForce updates h of two boxes by an opening as observe should, of a seal that has
// one of some ages, each with its weight, by summing
// over a grid in three dimensions. The trapezium rule on a whole normal
// density has next to no error.
func byForce(h *HiveState, i int, seal []oracleAge, hard Difficulty) posterior {
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
	given := func(x, age float64) float64 {
		above := func(c float64) float64 { return 0.5 * math.Erfc((c-math.Log(age)-x)/(1.0*math.Sqrt2)) }
		if hard >= Firm { // the smaller tail first, so that far out nothing cancels
			return above(bounds[hard]) - above(bounds[hard+1])
		}
		below := func(c float64) float64 { return 0.5 * math.Erfc((x-c+math.Log(age))/(1.0*math.Sqrt2)) }
		return below(bounds[hard+1]) - below(bounds[hard])
	}
	likely := func(x float64) float64 {
		sum := 0.0
		for _, a := range seal {
			sum += a.weight * given(x, a.age)
		}
		return sum
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

// compare holds the moments of h against those of p.
func (p *posterior) compare(t *testing.T, h *HiveState, what string) {
	t.Helper()
	for r := range 3 {
		if d := math.Abs(h.Mean[r] - p.mean[r]); d > 1e-6 {
			t.Errorf("%s: mean %d is %.9f, by integration %.9f", what, r, h.Mean[r], p.mean[r])
		}
		for c := range 3 {
			if d := math.Abs(h.Cov[r*3+c] - p.cov[r][c]); d > 1e-6 {
				t.Errorf("%s: covariance %d %d is %.9f, by integration %.9f", what, r, c, h.Cov[r*3+c], p.cov[r][c])
			}
		}
	}
}

// TestUpdateInDoubtAgreesWithIntegration opens a box whose seal has several ages, and
// holds their weights by Bayes' rule as well.
func TestUpdateInDoubtAgreesWithIntegration(t *testing.T) {
	for _, tt := range []struct {
		name  string
		maybe []float64 // how likely it was opened, every 50 sealing days
		hard  Difficulty
	}{
		{"perhaps once, and loose", []float64{0.8}, Loose},
		{"perhaps once, and stuck", []float64{0.8}, Stuck},
		{"hardly", []float64{0.1}, Firm},
		{"two visits", []float64{0.8, 0.1}, Light},
		{"three visits", []float64{0.1, 0.8, 0.5}, Hard},
		{"more than are held apart", []float64{0.3, 0.8, 0.1, 0.5}, Firm},
	} {
		t.Run(tt.name, func(t *testing.T) {
			h := hiveOf(2, NewDate(2025, 1, 1))
			z := &h.Boxes[0]
			z.Left = 120
			for k, p := range tt.maybe {
				z.maybeOpened(z.Since+Date(k)+1, 50, p)
			}
			const grown = 60
			var seal []oracleAge
			for i := range z.maybe.n {
				seal = append(seal, oracleAge{z.maybe.left[i] + grown, z.maybe.weight[i]})
			}
			want := byForce(h, 0, seal, tt.hard)
			prior := h.Rate(0)
			h.observe(0, grown, spanOf(tt.hard))
			want.compare(t, h, tt.name)

			sum, left := 0.0, 0.0
			likely := make([]float64, len(seal))
			for i, a := range seal {
				above := func(at Difficulty) float64 {
					if at == Loose {
						return 1
					}
					x := math.Log(a.age) + prior.Mean - math.Log([]float64{40, 110, 220, 400, math.Inf(1)}[at-1])
					return 0.5 * math.Erfc(-x/math.Sqrt(2*(prior.Variance+1)))
				}
				likely[i] = a.weight * (above(tt.hard) - above(tt.hard+1))
				sum += likely[i]
			}
			for i, a := range seal {
				if w := likely[i] / sum; math.Abs(z.maybe.weight[i]-w) > 1e-9 {
					t.Errorf("age %g weighs %.9f, by Bayes' rule %.9f", a.age, z.maybe.weight[i], w)
				}
				left += likely[i] / sum * (a.age - grown)
			}
			if math.Abs(z.Left-left) > 1e-9 {
				t.Errorf("%.9f left on average, want %.9f", z.Left, left)
			}
		})
	}
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
				want := byForce(h, s.box, []oracleAge{{s.age, 1}}, s.hard)
				h.observe(s.box, s.age, spanOf(s.hard))
				want.compare(t, h, fmt.Sprint("opening ", k))
			}
		})
	}
}
