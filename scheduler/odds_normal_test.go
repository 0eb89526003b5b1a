package scheduler

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// integrate returns the integral of f from a to b by Simpson's rule with many
// steps: slow, plain and independent of what it checks.
func integrate(a, b float64, steps int, f func(float64) float64) float64 {
	h := (b - a) / float64(2*steps)
	sum := f(a) + f(b)
	for i := 1; i < 2*steps; i++ {
		w := 2.0
		if i%2 == 1 {
			w = 4
		}
		sum += w * f(a+float64(i)*h)
	}
	return sum * h / 3
}

// truncatedByForce returns the moments of truncated by plain integration,
// relative to the point of [a, b] where the density is highest.
func truncatedByForce(a, b float64) (mean, variance float64) {
	top := math.Max(a, math.Min(b, 0))
	reach := 12.0
	if math.Abs(top) > 1 {
		reach = math.Min(12, 45/math.Abs(top))
	}
	from, to := math.Max(a, top-reach), math.Min(b, top+reach)
	density := func(x float64) float64 { return math.Exp((top - x) * (top + x) / 2) }
	const steps = 4000
	p := integrate(from, to, steps, density)
	m := integrate(from, to, steps, func(x float64) float64 { return (x - top) * density(x) }) / p
	v := integrate(from, to, steps, func(x float64) float64 { return (x - top - m) * (x - top - m) * density(x) }) / p
	return top + m, v
}

func TestTruncatedMomentsAgreeWithIntegration(t *testing.T) {
	inf := math.Inf(1)
	tests := []struct{ a, b float64 }{
		{-inf, inf},
		{0, inf},
		{-inf, 0},
		{-1, 1},
		{-inf, 3},
		{2, inf},
		{5.9, inf},
		{6.1, inf},
		{-7, 9},
		{-9, 7},
		{-50, 60},
		{-inf, 40},
		{-40, inf},
		{-0.5, 5.5},
		{0.1, 0.12},
		{-0.01, 0.01},
		{-3, -2.999},
		{5.8, 6.5},
		{6.2, 6.25},
		{12, 12.7},
		{37, 38},
		{60, inf},
		{-inf, -60},
		{300, inf},
		{1000, 1000.7},
		{-1000.7, -1000},
		{1e5, inf},
		{5.9, 5.9 + 0.3},
		{-6.1, 6.1},
		{-6.05, 6.1},
	}
	for _, test := range tests {
		mean, variance := truncated(test.a, test.b)
		m, v := truncatedByForce(test.a, test.b)
		if !(math.Abs(mean-m) < 1e-9*math.Max(1, math.Abs(m))) || !(math.Abs(variance-v) < 1e-8) || !(math.Abs(variance/v-1) < 1e-6) {
			t.Errorf("[%g, %g): mean %.12g and variance %.12g, by integration %.12g and %.12g",
				test.a, test.b, mean, variance, m, v)
		}
	}
}

func TestTruncatedMomentsProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(-30, 30).Draw(t, "a")
		b := a + rapid.Float64Range(1e-3, 20).Draw(t, "width")
		switch rapid.IntRange(0, 3).Draw(t, "open end") {
		case 0:
			a = math.Inf(-1)
		case 1:
			b = math.Inf(1)
		}
		mean, variance := truncated(a, b)
		m, v := truncatedByForce(a, b)
		if !(math.Abs(mean-m) < 1e-6) || !(math.Abs(variance-v) < 1e-6) {
			t.Fatalf("[%g, %g): mean %.12g and variance %.12g, by integration %.12g and %.12g", a, b, mean, variance, m, v)
		}
		if mean < a || mean > b || variance > 1 {
			t.Fatalf("[%g, %g): mean %g, variance %g", a, b, mean, variance)
		}
	})
}
