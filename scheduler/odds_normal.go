package scheduler

import "math"

// phi returns the standard normal distribution function at x.
func phi(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }

// between returns the probability that a standard normal variable lies in [a, b).
func between(a, b float64) float64 {
	if a > 0 { // the upper tail keeps its digits
		a, b = -b, -a
	}
	return phi(b) - phi(a)
}

// truncated returns the mean and the variance of a standard normal variable
// that is known to lie in [a, b), a < b. Either end may be infinite.
//
// The formulas are those of Johnson, Kotz and Balakrishnan, Continuous
// Univariate Distributions 1 (1994), section 13.10.1 (from memory). Far out,
// where they cancel, the moments are integrated instead.
func truncated(a, b float64) (mean, variance float64) {
	if a+b < 0 { // the upper tail keeps its digits
		mean, variance = truncated(-b, -a)
		return -mean, variance
	}
	if a > farOut || b-a < narrow {
		return integrated(a, b)
	}
	var p, atA, atB float64 // times the square root of 2 pi
	if a < 0 {
		p = root2pi * (phi(b) - phi(a))
		atA, atB = math.Exp(-a*a/2), math.Exp(-b*b/2)
	} else { // divided by the density at a as well
		atA, atB = 1, math.Exp((a-b)*(a+b)/2)
		p = root2pi / 2 * (erfcx(a/math.Sqrt2) - atB*erfcx(b/math.Sqrt2))
	}
	mean = (atA - atB) / p
	return mean, math.Max(0, 1+(times(a, atA)-times(b, atB))/p-mean*mean)
}

// times returns end*density, which is 0 where the end is infinite.
func times(end, density float64) float64 {
	if density == 0 {
		return 0
	}
	return end * density
}

const (
	root2pi = 2.506628274631000502
	farOut  = 6.0  // beyond it the variance is a small difference of large terms
	narrow  = 0.25 // below it the probability is
)

// erfcx returns exp(x*x) erfc(x) for x from 0 to about 25; beyond, where it
// stands beside a density of 0, it returns 0.
func erfcx(x float64) float64 {
	if x > 25 {
		return 0
	}
	return math.Exp(x*x) * math.Erfc(x)
}

// integrated returns what truncated does, for a far out or for a narrow
// interval, by Gauss-Legendre quadrature of the density divided by the one at
// a. Where the density has fallen by exp(-40) the rest is not worth counting.
func integrated(a, b float64) (mean, variance float64) {
	width := b - a
	if a > 0 {
		width = math.Min(width, 40/a)
	}
	const panels = 8
	step := width / panels
	var p, t1, t2 float64
	for k := range panels {
		left := float64(k) * step
		for i, x := range gaussNodes {
			for _, t := range [2]float64{left + step*(1-x)/2, left + step*(1+x)/2} {
				w := gaussWeights[i] * math.Exp(-t*(a+t/2))
				p += w
				t1 += w * t
				t2 += w * t * t
			}
		}
	}
	m := t1 / p
	return a + m, math.Max(0, t2/p-m*m)
}

// gaussNodes and gaussWeights are the positive half of the Gauss-Legendre rule
// of order 8 on [-1, 1] (Abramowitz and Stegun, table 25.4).
var (
	gaussNodes   = [4]float64{0.1834346424956498, 0.5255324099163290, 0.7966664774136267, 0.9602898564975363}
	gaussWeights = [4]float64{0.3626837833783620, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763}
)
