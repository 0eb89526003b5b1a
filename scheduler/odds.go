package scheduler

import "math"

// The prior of how fast boxes seal. ln k of a box is the sum of its hive's
// part h and its own part u. The numbers are a judgement: common practice, no
// source; the sanity lines in the tests hold them.
const (
	rateNoise    = 0.45 // standard deviation of e in one opening
	hiveVariance = 0.31 // of h: the covariance of two boxes of a hive
	boxVariance  = 0.14 // of u: with hiveVariance the variance of ln k, 0.45
	driftPerYear = 0.05 // growth of the variance of u
)

// thresholds are the sealing days that separate the difficulties: at or above
// thresholds[j-1] an opening of a box with k = 1 has difficulty j or more.
var thresholds = [...]float64{40, 110, 220, 400}

var lnThresholds = [...]float64{math.Log(40), math.Log(110), math.Log(220), math.Log(400)}

// Odds returns the probability, 0 to 1, that opening a box whose seal is age
// sealing days old has difficulty at or above at, when ln k of the box is
// normal with the given mean and variance. It is 0 at age 0.
func Odds(age, mean, variance float64, at Difficulty) float64 {
	if age <= 0 {
		return 0
	}
	if at <= Loose {
		return 1
	}
	at = min(at, Stuck)
	return phi((math.Log(age) + mean - lnThresholds[at-1]) / math.Sqrt(variance+rateNoise*rateNoise))
}
