package scheduler

import "math"

// The prior of how fast boxes seal: ln k of a box is the sum of its hive's
// part h and its own part u, both normal with mean 0. The numbers are a
// judgement (common practice, no source), held by the sanity lines in the
// tests: a box opened every three months in season stays firm or easier more
// often than not, one left for two years is hard or worse more often than not.
//
// Grades are written by different people in different moods, of boxes that were not
// always closed as the records say: so less is learned from one, with
// learningNoise, than an opening to come is certain of, with rateNoise. And not
// every new colony is noted: in a year some colonyChange of hives are another one
// than is known (assumed; 10 to 25 % of colonies die in a winter, and most of
// their successors are written down).
const (
	rateNoise     = 0.45 // standard deviation of e, which is new in every opening
	learningNoise = 1.0  // of e and of what is wrong with its record (assumed; simulated, 0.8 to 1.2 do as well)
	hiveVariance  = 0.31 // of h, which is the covariance of two boxes of a hive
	boxVariance   = 0.14 // of u: with hiveVariance the variance of ln k, 0.45
	driftPerYear  = 0.05 // growth of the variance of u in a year of 365.25 days
	colonyChange  = 0.06 // rate, in a year, at which colonies change without a record
	queenKeeps    = 0.65 // correlation of h before and after a new queen: most are her daughters, and the place stays (assumed; simulated, 0.5 to 0.85 do as well)
)

// lnThresholds are the natural logarithms of the sealing days c that separate
// the difficulties: a box that seals at rate k is, at age A, of difficulty j
// or more when ln(k A) + e is above the (j-1)th.
var lnThresholds = [...]float64{math.Log(40), math.Log(110), math.Log(220), math.Log(400)}

// UsualAge returns the age, in sealing days, from which a box that seals at the rate
// of most is of difficulty at or above at: light to stuck, and 0 for loose.
func UsualAge(at Difficulty) float64 {
	if at <= Loose {
		return 0
	}
	return math.Exp(lnThresholds[min(at, Stuck)-1])
}

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

// hardAndStuck returns Odds of both.
func hardAndStuck(age, mean, variance float64) (hard, stuck float64) {
	if age <= 0 {
		return 0, 0
	}
	x, sd := math.Log(age)+mean, math.Sqrt(variance+rateNoise*rateNoise)
	return phi((x - lnThresholds[Hard-1]) / sd), phi((x - lnThresholds[Stuck-1]) / sd)
}

// surprise returns how an opening that was found to lie in a span, at an age, moves
// a distribution in which ln k of the box has a mean and a variance, and how likely
// it was: with c the
// covariance of some quantity with ln k, its mean moves by c*shift, and the
// covariance of two by -c1*c2*shrink. These are the exact moments, since given
// ln k + e everything else is linear (assumed-density filtering; Minka 2001).
func surprise(age, mean, variance float64, found span) (shift, shrink, p float64) {
	total := variance + learningNoise*learningNoise
	sd, expected := math.Sqrt(total), math.Log(age)+mean
	low, high := (found.low-expected)/sd, (found.high-expected)/sd
	m, v := truncated(low, high)
	return m / sd, (1 - v) / total, between(low, high)
}

// drift returns by how much the variance of u grows between two days.
func drift(from, to Date) float64 {
	return driftPerYear * float64(max(to-from, 0)) / 365.25
}
