package scheduler

import "math"

// tenthQuantile is the standard normal quantile of 0.9.
const tenthQuantile = 1.2815515655446004

// dueRange returns between which days b would be due if it were known how fast it
// seals: of ten boxes of which no more is known than of b, one would be due before
// first and one after last. What else makes it due binds as ever.
func (b *boxDue) dueRange(y *days, r *dueRules) (first, last int32) {
	return min(b.due, b.dueAt(y, r, tenthQuantile)), max(b.due, b.dueAt(y, r, -tenthQuantile))
}

// dueAt returns the day on which b would be due if it were known that ln k of it
// lies z standard deviations above its mean.
func (b *boxDue) dueAt(y *days, r *dueRules, z float64) int32 {
	known := *b.rate
	known.Mean += z * math.Sqrt(known.Variance)
	known.Variance, known.RatedOn = 0, MaxDate // nor does it drift
	sure := *b
	sure.rate = &known
	sure.setDay(y, r)
	return sure.due
}
