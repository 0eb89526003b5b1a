package scheduler

import "math"

// stuckWorth is how many times its hours of prying a stuck box counts when
// visits are weighed against each other. It may be left shut, which costs
// another journey, or break frames and comb. Simulated, the planner gets the
// fewest stuck boxes for the same hours of work with 3 to 6.
const stuckWorth = 4

// prying returns the weighed hours of prying expected at an age of the seal of
// b on day k, beyond what opening a box takes anyway, how fast they grow, the
// slope of their logarithm over that of the age, and the hours as they are, for
// people's days.
func (b *boxDue) prying(y *days, r *dueRules, age float64, k int32) (weighed, growth, hours float64) {
	if age <= 0 {
		return 0, leastGrowth, 0
	}
	hard, stuck, s := b.quantiles(y, age, k)
	likely, worst := phi(hard), phi(stuck)
	var w Work
	w.add(r.recalibration.Odds(likely, worst))
	hours = w.pryingHours(r.Rules)
	if weighed = r.weighedHours(likely, worst); weighed <= 0 {
		return 0, leastGrowth, hours
	}
	slope := (r.Hours.Hard*density(hard) + r.stuckMore()*density(stuck)) * s
	return weighed, min(max(slope/weighed, leastGrowth), mostGrowth), hours
}

// pryingOn returns the hours of prying for the age that b has on day k.
func (b *boxDue) pryingOn(y *days, r *dueRules, k int32) float64 {
	age := b.ageOn(y, k)
	if age <= 0 {
		return 0
	}
	hard, stuck, _ := b.quantiles(y, age, k)
	return max(r.weighedHours(phi(hard), phi(stuck)), 0)
}

// quantiles returns where the thresholds of hard and of stuck lie on day k, as
// standard normal quantiles, and the scale of them.
func (b *boxDue) quantiles(y *days, age float64, k int32) (hard, stuck, scale float64) {
	scale = 1 / math.Sqrt(b.rate.VarianceOn(y.today+Date(k))+rateNoise*rateNoise)
	x := math.Log(age) + b.rate.Mean
	return (x - lnThresholds[Hard-1]) * scale, (x - lnThresholds[Stuck-1]) * scale, scale
}

// weighedHours weighs the hours of prying of a hard opening and of a stuck one by
// their odds.
func (r *dueRules) weighedHours(hard, stuck float64) float64 {
	return r.Hours.Hard*hard + r.stuckMore()*stuck
}

// stuckMore is by how many weighed hours a stuck box takes longer than a hard one.
func (r *dueRules) stuckMore() float64 { return stuckWorth*r.Hours.Stuck - r.Hours.Hard }

// The growth of the prying hours is kept within these, between which the cubic
// of curve rises.
const (
	leastGrowth = 2
	mostGrowth  = 5
)

// density returns the standard normal density at x.
func density(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }

// curve is what opening boxes on another day than their due days wastes: a
// polynomial in the sealing days from today to the day, the constant first,
// but for what being late adds.
//
// With a the age over the age on the due day, the hours of prying expected are
// taken as w(a) = w ((g-2) a^3 + (3-g) a^2): nothing at age 0, and on the due
// day the hours w and the growth g that the odds give. Opening a box early
// costs open + w(a) hours, of which the part a was needed anyway, a (open + w);
// the difference is wasted, or saved where less prying makes up for more (the
// deviation cost of Wildeman, Dekker and Smit 1997). Opening it late wastes the
// extra prying, w(a) - w.
type curve [4]float64

// add adds the waste of b.
func (c *curve) add(b *boxDue, open float64) {
	if b.age <= 0 {
		return
	}
	// in a: open + a (-open - w) + a^2 w (3-g) + a^3 w (g-2)
	c[0] += open
	c.addPowers(b, -open-b.worth, b.worth*(3-b.growth), b.worth*(b.growth-2))
}

// addPowers adds a polynomial in the age of b over that on its due day, of its
// first three powers.
func (c *curve) addPowers(b *boxDue, one, two, three float64) {
	u, v := b.base/b.age, 1/b.age // the ratio is u + v * sealed
	c[0] += u * (one + u*(two+u*three))
	c[1] += v * (one + u*(2*two+u*3*three))
	c[2] += v * v * (two + u*3*three)
	c[3] += v * v * v * three
}

// at returns what c is at some sealing days from today.
func (c *curve) at(s float64) float64 { return c[0] + s*(c[1]+s*(c[2]+s*c[3])) }

// lateness returns what being late adds to the waste of b, as a line in the
// sealing days from today: the part of open + w past a = 1, which the early
// waste takes off.
func (b *boxDue) lateness(open float64) (level, slope float64) {
	if b.age <= 0 {
		return 0, 0
	}
	cost := open + b.worth
	return cost * (b.base/b.age - 1), cost / b.age
}
