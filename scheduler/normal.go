package scheduler

import "math"

// phi returns the standard normal distribution function at x.
func phi(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }

// truncated returns the mean and the variance of a standard normal variable
// that is known to lie in [a, b). Either end may be infinite.
func truncated(a, b float64) (mean, variance float64) {
	if a+b < 0 { // work in the upper tail, where nothing cancels
		mean, variance = truncated(-b, -a)
		return -mean, variance
	}
	const root2pi = 2.5066282746310002
	// everything is divided by the density at a
	var z, da, db, bdb float64
	da = 1
	if !math.IsInf(b, 1) {
		db = math.Exp((a - b) * (a + b) / 2)
		bdb = b * db
	}
	if a < 0 {
		z = root2pi * math.Exp(a*a/2) * (phi(b) - phi(a))
	} else {
		z = root2pi / 2 * erfcx(a/math.Sqrt2)
		if db > 0 {
			z -= root2pi / 2 * db * erfcx(b/math.Sqrt2)
		}
	}
	mean = (da - db) / z
	return mean, math.Max(0, 1+(a*da-bdb)/z-mean*mean)
}

// erfcx returns exp(x*x) erfc(x) for x >= 0.
func erfcx(x float64) float64 {
	if x < 20 {
		return math.Exp(x*x) * math.Erfc(x)
	}
	y := 1 / (2 * x * x)
	return (1 - y*(1-3*y*(1-5*y*(1-7*y)))) / (x * math.SqrtPi)
}
