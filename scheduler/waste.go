package scheduler

import "math"

// stuckWorth is how many times its hours of prying a stuck box counts when
// visits are weighed against each other. It may be left shut, which costs
// another journey, or break frames and comb. Simulated, the planner gets the
// fewest stuck boxes for the same hours of work with 4 to 8.
const stuckWorth = 6

// prying returns the weighed hours of prying expected at an age of the seal of
// b on day k, beyond what opening a box takes anyway, and how fast they grow:
// the slope of their logarithm over that of the age.
func (b *boxDue) prying(y *days, r *dueRules, age float64, k int32) (hours, growth float64) {
	if age <= 0 {
		return 0, leastGrowth
	}
	s := 1 / math.Sqrt(b.rate.VarianceOn(y.today+Date(k))+rateNoise*rateNoise)
	x := math.Log(age) + b.rate.Mean
	hard, stuck := (x-lnThresholds[Hard-1])*s, (x-lnThresholds[Stuck-1])*s
	more := stuckWorth*r.Hours.Stuck - r.Hours.Hard
	hours = r.Hours.Hard*phi(hard) + more*phi(stuck)
	if hours <= 0 {
		return 0, leastGrowth
	}
	slope := (r.Hours.Hard*density(hard) + more*density(stuck)) * s
	return hours, min(max(slope/hours, leastGrowth), mostGrowth)
}

// The growth of the prying hours is kept within these, between which the cubic
// of curve has the shape that turn relies on.
const (
	leastGrowth = 2
	mostGrowth  = 5
)

// density returns the standard normal density at x.
func density(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }

// curve is what opening a box on another day than its due day wastes, as a
// polynomial in the sealing days from today to that day.
//
// With a the age over the age on the due day, the hours of prying expected are
// taken as w(a) = w ((g-2) a^3 + (3-g) a^2): nothing at age 0, and on the due
// day the hours w and the growth g that the odds give. Opening a box early
// costs open + w(a) hours, of which the part a was needed anyway, a (open + w):
// the deviation cost of Wildeman, Dekker and Smit (1997). Opening it late costs
// the extra prying, w(a) - w.
type curve struct {
	early [4]float64 // coefficients, constant first; see lateness for past the due day
}

// add adds the waste of b to c, but for what waiting past the due day adds.
func (c *curve) add(b *boxDue, open float64) {
	if b.age <= 0 {
		return
	}
	// in a: open + a (-open - w) + a^2 w (3-g) + a^3 w (g-2)
	one, two, three := -open-b.worth, b.worth*(3-b.growth), b.worth*(b.growth-2)
	u, v := b.base/b.age, 1/b.age // a = u + v * sealed
	c.early[0] += open + u*(one+u*(two+u*three))
	c.early[1] += v * (one + u*(2*two+u*3*three))
	c.early[2] += v * v * (two + u*3*three)
	c.early[3] += v * v * v * three
}

// lateness returns what waiting past its due day adds to the waste of b, as a
// line in the sealing days from today.
func (b *boxDue) lateness(open float64) (level, slope float64) {
	if b.age <= 0 {
		return 0, 0
	}
	cost := open + b.worth
	return cost * (b.base/b.age - 1), cost / b.age
}

// turnDay returns the day up to which the waste of b only falls: its due day,
// or the day before it on which the prying that waiting costs outgrows the
// opening that it saves.
func (b *boxDue) turnDay(y *days, open float64) int32 {
	if b.worth <= 0 || b.age <= 0 || b.due <= 0 {
		return b.due
	}
	// the root of the derivative in a: 3 (g-2) a^2 + 2 (3-g) a - (1 + open/w)
	p, q, c := 3*(b.growth-2), 3-b.growth, -1-open/b.worth
	a := -c / (2 * q)
	if p > 1e-9 {
		a = (-q + math.Sqrt(q*q-p*c)) / p
	}
	if a >= 1 {
		return b.due
	}
	lo, hi := int32(0), min(b.due, int32(y.n))
	for lo < hi { // the last day whose age is at most a
		mid := lo + (hi-lo+1)/2
		if b.base+y.sealed[mid] <= a*b.age {
			lo = mid
		} else {
			hi = mid - 1
		}
	}
	return lo
}
