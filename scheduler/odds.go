package scheduler

import "math"

// The prior of how fast boxes seal: ln k of a box is the sum of its hive's
// part h and its own part u, both normal with mean 0. The numbers are a
// judgement (common practice, no source), held by the sanity lines in the
// tests: a box opened every three months in season stays firm or easier more
// often than not, one left for two years is hard or worse more often than not.
const (
	rateNoise    = 0.45 // standard deviation of e, which is new in every opening
	hiveVariance = 0.31 // of h, which is the covariance of two boxes of a hive
	boxVariance  = 0.14 // of u: with hiveVariance the variance of ln k, 0.45
	driftPerYear = 0.05 // growth of the variance of u in a year of 365.25 days
)

// lnThresholds are the natural logarithms of the sealing days c that separate
// the difficulties: a box that seals at rate k is, at age A, of difficulty j
// or more when ln(k A) + e is above the (j-1)th.
var lnThresholds = [...]float64{math.Log(40), math.Log(110), math.Log(220), math.Log(400)}

// Odds returns the probability, 0 to 1, that opening a box whose seal is age
// sealing days old has difficulty at or above at, when ln k of the box is
// normal with the given mean and variance. It is 0 at age 0, whatever at.
func Odds(age, mean, variance float64, at Difficulty) float64 {
	if age <= 0 {
		return 0
	}
	if at <= Loose {
		return 1
	}
	c := lnThresholds[min(at, Stuck)-1]
	return phi((math.Log(age) + mean - c) / math.Sqrt(variance+rateNoise*rateNoise))
}

// surprise returns how an opening of difficulty hard, at an age, moves a
// distribution in which ln k of the box has a mean and a variance: with c the
// covariance of some quantity with ln k, its mean moves by c*shift, and the
// covariance of two by -c1*c2*shrink. These are the exact moments, since given
// ln k + e everything else is linear (assumed-density filtering; Minka 2001).
func surprise(age, mean, variance float64, hard Difficulty) (shift, shrink float64) {
	low, high := math.Inf(-1), math.Inf(1)
	if hard > Loose {
		low = lnThresholds[min(hard, Stuck)-1]
	}
	if hard < Stuck {
		high = lnThresholds[hard]
	}
	total := variance + rateNoise*rateNoise
	sd, expected := math.Sqrt(total), math.Log(age)+mean
	m, v := truncated((low-expected)/sd, (high-expected)/sd)
	return m / sd, (1 - v) / total
}

// drift returns by how much the variance of u grows between two days.
func drift(from, to Date) float64 {
	return driftPerYear * math.Max(0, float64(to-from)) / 365.25
}
