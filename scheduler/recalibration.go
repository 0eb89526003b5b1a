package scheduler

import "math"

// Recalibration corrects the odds by what the club itself found: see
// Recalibrate. The zero value corrects nothing.
type Recalibration struct {
	MadeOn   Date
	Openings int   // that it was made of; 0 where it corrects nothing
	Hard     Curve // of the odds of a hard opening
	Stuck    Curve // of the odds of a stuck one among the hard
}

// Curve moves odds p to those whose logit is Intercept + Slope logit(p)
// (logistic recalibration: Cox 1958, "Two further applications of a model for
// binary regression", Biometrika 45:562-565; Platt 1999 fits the same curve to
// the scores of a classifier). Slope is positive, so likelier stays likelier.
type Curve struct{ Intercept, Slope float64 }

// How a recalibration is held to changing nothing while little is known: before
// the record says anything, intercept and slope are normal around 0 and 1 with
// these standard deviations, and shorter records count for nothing. Chosen on
// seeds 1 to 40 of the imperfect world.
const (
	interceptDoubt = 0.5
	slopeDoubt     = 0.4

	RecalibrateFrom  = 100 // openings that a record must have before it corrects the odds
	recalibrateEvent = 10  // of each outcome, as many must be in it

	LeastSlope, MostSlope = 0.25, 4.0 // that a curve can have
	surest                = 0.01      // odds nearer to 0 or 1 are taken for this in the fit, lest one surprise bends all
)

var identity = Curve{Slope: 1}

// Corrects reports whether r changes any odds.
func (r Recalibration) Corrects() bool { return r.Openings > 0 }

// Odds returns the odds of a hard and of a stuck opening as they are said, of
// those that the model gives.
func (r Recalibration) Odds(hard, stuck float64) (float64, float64) {
	if !r.Corrects() || hard <= 0 {
		return hard, stuck
	}
	said := r.Hard.at(hard)
	return said, said * r.Stuck.at(math.Min(stuck/hard, 1))
}

// HardOdds returns the odds of a hard opening as they are said.
func (r Recalibration) HardOdds(hard float64) float64 {
	said, _ := r.Odds(hard, 0)
	return said
}

// SaidLimit returns the odds that are said of a box on the day on which the model's
// reach the club's limit: the limit itself where nothing corrects them.
func (c *Club) SaidLimit() float64 { return c.Recalibration.HardOdds(c.Rules.OddsLimit) }

func (c Curve) at(p float64) float64 {
	if p <= 0 || p >= 1 {
		return p
	}
	return expit(c.Intercept + c.Slope*logit(p))
}

// Recalibrate makes the curves that fit best what was said by the model before
// the openings and what was found, or the zero Recalibration where the record is
// too short.
func Recalibrate(record []Outcome, on Date) Recalibration {
	hard := make([]verdict, len(record))
	var stuck []verdict
	for i := range record {
		o := &record[i]
		hard[i] = newVerdict(o.ModelHard, o.Found >= Hard)
		if o.Found >= Hard && o.ModelHard > 0 {
			stuck = append(stuck, newVerdict(o.ModelStuck/o.ModelHard, o.Found >= Stuck))
		}
	}
	if len(hard) < RecalibrateFrom || !enough(hard) {
		return Recalibration{}
	}
	r := Recalibration{MadeOn: on, Openings: len(hard), Hard: fitCurve(hard), Stuck: identity}
	if enough(stuck) {
		r.Stuck = fitCurve(stuck)
	}
	return r
}

// verdict is the logit of the odds of something and whether it came.
type verdict struct {
	logit float64
	came  bool
}

func newVerdict(odds float64, came bool) verdict {
	return verdict{logit(math.Max(surest, math.Min(odds, 1-surest))), came}
}

func enough(all []verdict) bool {
	came := 0
	for _, v := range all {
		if v.came {
			came++
		}
	}
	return came >= recalibrateEvent && len(all)-came >= recalibrateEvent
}

// fitCurve returns the curve of the greatest posterior density, by Newton's
// method: the logarithm of it is concave.
func fitCurve(all []verdict) Curve {
	c := identity
	for range 50 {
		step := newton(all, c)
		next := Curve{c.Intercept + step.Intercept, c.Slope + step.Slope}
		if math.Abs(step.Intercept)+math.Abs(step.Slope) < 1e-7 {
			c = next // the next step is the square of this, and the heights differ by rounding only
			break
		}
		for before, half := posteriorOf(all, c), 0.5; half > 1e-6 && posteriorOf(all, next) < before; half /= 2 {
			next = Curve{c.Intercept + half*step.Intercept, c.Slope + half*step.Slope}
		}
		c = next
	}
	c.Slope = math.Max(LeastSlope, math.Min(c.Slope, MostSlope))
	return c
}

// newton returns the step from c to the top of the parabola that fits the
// posterior density there.
func newton(all []verdict, c Curve) Curve {
	a, b := c.Intercept, c.Slope
	ga, gb := -a/(interceptDoubt*interceptDoubt), -(b-1)/(slopeDoubt*slopeDoubt)
	haa, hab, hbb := 1/(interceptDoubt*interceptDoubt), 0.0, 1/(slopeDoubt*slopeDoubt)
	for _, v := range all {
		x := v.logit
		p := expit(a + b*x)
		r, w := -p, p*(1-p)
		if v.came {
			r++
		}
		ga, gb = ga+r, gb+r*x
		haa, hab, hbb = haa+w, hab+w*x, hbb+w*x*x
	}
	det := haa*hbb - hab*hab
	return Curve{(hbb*ga - hab*gb) / det, (haa*gb - hab*ga) / det}
}

// posteriorOf returns the logarithm of the posterior density of c, but for a
// constant.
func posteriorOf(all []verdict, c Curve) float64 {
	a, b := c.Intercept/interceptDoubt, (c.Slope-1)/slopeDoubt
	sum := -(a*a + b*b) / 2
	for _, v := range all {
		z := c.Intercept + c.Slope*v.logit
		if v.came {
			z = -z
		}
		sum -= math.Max(z, 0) + math.Log1p(math.Exp(-math.Abs(z)))
	}
	return sum
}

// logit returns the logarithm of p against 1 - p.
func logit(p float64) float64 { return math.Log(p / (1 - p)) }

// expit undoes logit.
func expit(x float64) float64 { return 1 / (1 + math.Exp(-x)) }
