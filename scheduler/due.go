package scheduler

import "math"

// graceDays is how long after its due day a box may still wait for a visit
// that other boxes need, when only its odds make it due. The extra prying that
// the wait is expected to cost is weighed against the journey it saves.
const graceDays = 21

// never is a day after every day that the planner looks at.
const noDay = math.MaxInt32 / 2

// boxDue is one box's next opening as it stands at some point of the plan.
// Days are counted from today.
type boxDue struct {
	rate     *BoxRate
	box      *Box
	hive     int32 // its place among the apiary's hives
	from     Date  // the last opening or the day it was set up
	guessed  bool  // when it was last opened is a guess
	inDoubt  bool  // its seal has the rate's several ages
	listedOn Date  // the last visit that may have opened it without a record; 0 for none
	since    Date  // at which left sealing days were in the seal
	left     float64
	base     float64 // age on a day of the calendar less the sealing days until then
	off      int32   // a person took it off the visit of this day: not before the next
	rested   int32   // the first day on which nothing keeps it shut; earliest may wait for a stage
	full     int32   // boxes full of honey in the flow, of it and those above it
	kept     int32   // a person put its visit on this day, past due: it goes with it

	earliest int32   // not before this day, unless for a box below
	due      int32   // the last day on which the rules let it wait
	ruled    int32   // due by the rules alone, whoever asked for what
	latest   int32   // the planner may not pass this day
	hard     int32   // the last day that the longest wait and the stages allow
	limit    int32   // the same before what may be opened when is asked: once it has passed, it binds nobody
	oddsDay  int32   // the first day on which the odds reach the limit, or never
	wanted   int32   // the day that the reason alone gives
	reason   Reason  // for wanted
	putOff   bool    // earliest is later than rested, since it waits for better days
	waits    Closing // what it waits out, when due is not the day that wanted alone gives
	age      float64 // at due, sealing days
	worth    float64 // weighed hours of prying expected at that age
	growth   float64 // of worth with age, see prying
	pry      float64 // hours of prying expected at that age, as they are said
}

// dueRules are the parts of the rules that due days need, worked out once.
type dueRules struct {
	*Rules
	recalibration Recalibration
	odds          float64 // at which a box is due
	limit         float64 // their standard normal quantile
}

// newDueRules holds the limit against the model's own odds. A club's correction of them
// answers to whatever its members call hard, and rises and falls with their words:
// simulated, days that follow it cost a tenth more stuck boxes in the same hours.
func newDueRules(c *Club) dueRules {
	odds := c.Rules.OddsLimit
	return dueRules{Rules: &c.Rules, recalibration: c.Recalibration, odds: odds, limit: quantile(odds)}
}

// quantile returns the standard normal quantile of p.
func quantile(p float64) float64 {
	return -math.Sqrt2 * math.Erfcinv(2*p)
}

// seal starts the seal of b anew: left sealing days were in it on since.
func (b *boxDue) seal(y *days, since Date, left float64) {
	b.since, b.left = since, left
	k := int(since - y.today)
	switch {
	case k <= 0:
		b.base = left + y.season.SealingDays(since, y.today)
	case k <= y.n:
		b.base = left - y.sealed[k]
	default:
		b.base = left - y.sealed[y.n] - y.season.SealingDays(y.today+Date(y.n), since)
	}
}

// ageOn returns the age of the seal of b on a day.
func (b *boxDue) ageOn(y *days, k int32) float64 {
	if k >= 0 && int(k) <= y.n {
		return b.base + y.sealed[k]
	}
	return b.left + y.season.SealingDays(b.since, y.today+Date(k))
}

// oddsReached reports whether the odds of a hard opening of b have reached the
// limit on day k: the age has reached the one at which they do, solved from
// the formula at Odds.
func (b *boxDue) oddsReached(y *days, r *dueRules, k int32) bool {
	age, v := b.ageOn(y, k), b.rate.VarianceOn(y.today+Date(k))
	if b.inDoubt {
		return b.rate.odds(age-b.left, b.rate.Mean, v, Hard) >= r.odds
	}
	if age <= 0 {
		return false
	}
	return math.Log(age)+b.rate.Mean-lnThresholds[Hard-1] >= r.limit*math.Sqrt(v+rateNoise*rateNoise)
}

// oddsOn returns the odds of a hard and of a stuck opening of b on day k.
func (b *boxDue) oddsOn(y *days, k int32) (hard, stuck float64) {
	age, v := b.ageOn(y, k), b.rate.VarianceOn(y.today+Date(k))
	if b.inDoubt {
		return b.rate.hardAndStuck(age-b.left, b.rate.Mean, v)
	}
	return hardAndStuck(age, b.rate.Mean, v)
}

// firstOddsDay returns the first day from lo to hi on which the odds reach the
// limit, or never.
func (b *boxDue) firstOddsDay(y *days, r *dueRules, lo, hi int32) int32 {
	end := int32(y.n)
	switch {
	case lo > hi:
		return noDay
	case lo < 0 && b.oddsReached(y, r, min(hi, -1)):
		hi = min(hi, -1)
	case hi < 0:
		return noDay
	case hi > end && (lo > end || !b.oddsReached(y, r, end)):
		if !b.oddsReached(y, r, hi) {
			return noDay
		}
		lo = max(lo, end)
	case b.inDoubt: // a sum of odds has no age at which it reaches the limit
		lo, hi = max(lo, 0), min(hi, end)
		if !b.oddsReached(y, r, hi) {
			return noDay
		}
	default:
		// The age at which the limit is reached falls as the variance grows or,
		// for limits above a half, grows: so the day lies between those for the
		// variances at both ends, give or take rounding.
		lo, hi = max(lo, 0), min(hi, end)
		first, last := b.dayOfAge(y, b.limitAge(y, r, lo), lo, hi), b.dayOfAge(y, b.limitAge(y, r, hi), lo, hi)
		lo, hi = max(min(first, last)-1, lo), min(max(first, last)+1, hi)
		if !b.oddsReached(y, r, hi) {
			return noDay
		}
	}
	return firstDay(lo, hi, func(k int32) bool { return b.oddsReached(y, r, k) })
}

// recordedOddsDay returns the first day from lo to hi, on which the seal of b has
// come into doubt, on which the odds reached the limit by the records alone.
func (b *boxDue) recordedOddsDay(y *days, r *dueRules, lo, hi int32) int32 {
	return firstDay(lo, hi, func(k int32) bool {
		d := y.today + Date(k)
		age := b.rate.maybe.left[0] - y.season.SealingDays(d, b.since)
		return Odds(age, b.rate.Mean, b.rate.VarianceOn(d), Hard) >= r.odds
	})
}

// firstDay returns the first day from lo to hi of which something is true that is
// true of hi and stays true.
func firstDay(lo, hi int32, reached func(k int32) bool) int32 {
	for lo < hi {
		if mid := lo + (hi-lo)/2; reached(mid) {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return lo
}

// limitAge returns the age at which the odds reach the limit with the variance
// of day k.
func (b *boxDue) limitAge(y *days, r *dueRules, k int32) float64 {
	v := b.rate.VarianceOn(y.today + Date(k))
	return math.Exp(lnThresholds[Hard-1] - b.rate.Mean + r.limit*math.Sqrt(v+rateNoise*rateNoise))
}

// dayOfAge returns the first day from lo to hi, both in the calendar, on which
// the age of the seal of b is at least age, or the day after hi.
func (b *boxDue) dayOfAge(y *days, age float64, lo, hi int32) int32 {
	want := age - b.base
	for hi++; lo < hi; {
		if mid := lo + (hi-lo)/2; y.sealed[mid] < want {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}

// setDue works out when b is due from the day of its last opening on, and what
// it is worth to open it then.
func (b *boxDue) setDue(y *days, r *dueRules) {
	b.setDay(y, r)
	b.age = b.ageOn(y, b.due)
	b.worth, b.growth, b.pry = b.prying(y, r, b.age, b.due)
}

// setDay works out when b is due.
func (b *boxDue) setDay(y *days, r *dueRules) {
	from := int32(b.from - y.today)
	b.rested = max(from+max(int32(r.MinDays), 1), b.off+1)
	b.earliest = b.rested
	longest := from + int32(r.MaxDays)
	since := max(from, int32(b.since-y.today))
	b.oddsDay = b.firstOddsDay(y, r, since, max(longest, HorizonDays))
	if b.inDoubt && b.oddsDay == since {
		b.oddsDay = b.recordedOddsDay(y, r, from, since)
	}

	b.wanted, b.reason = b.oddsDay, BecauseOdds
	if longest < b.wanted {
		b.wanted, b.reason = longest, BecauseLongest
	}
	middle, begins := y.requiredOpening(max(b.from, b.listedOn))
	if middle < b.wanted {
		b.wanted, b.reason = middle, BecauseRequired
	}
	if b.reason == BecauseRequired {
		b.earliest = max(b.earliest, begins)
	}
	b.limit = min(longest, middle)
	if b.guessed {
		b.spare(y)
	}
	b.wanted = max(b.wanted, b.earliest)
	b.due = y.openableBy(int(b.hive), b.wanted, b.earliest)
	b.hard = y.openableBy(int(b.hive), max(b.limit, b.earliest), b.earliest)
	b.latest, b.putOff, b.waits = b.hard, false, ""
	if b.reason == BecauseOdds || b.reason == BecauseGuess {
		b.waitOut(y, r)
		b.latest = min(b.latest, b.due+graceDays)
	}
}

// spare keeps a box from being due too soon for no more than a guess: what the
// guess alone makes due, or would have made overdue, waits some weeks for somebody
// who looks.
func (b *boxDue) spare(y *days) {
	until := int32(b.box.GuessedOn-y.today) + guessDays
	b.limit = max(b.limit, until)
	if b.wanted < until || b.wanted < 0 {
		b.wanted, b.reason = max(b.wanted, until), BecauseGuess
	}
}

// requiredOpening returns the middle day of the next stage that asks for an
// opening which an opening on from does not answer, and the day on which that
// stage begins; never when there is none. A stage that is over asks no more,
// and where one stage lasts all year there is no middle to keep to.
func (y *days) requiredOpening(from Date) (middle, begins int32) {
	if y.season.n == 1 {
		return noDay, noDay
	}
	for _, sp := range y.spans {
		if y.season.rules[sp.stage].Required == OpeningRequired && sp.first > from {
			return int32(sp.first + (sp.last-sp.first)/2 - y.today), int32(sp.first - y.today)
		}
	}
	return noDay, noDay
}

// openableBy returns the last day up to k on which a hive may be opened but,
// where that is before both today and earliest, the first from k on; k itself
// when there is no such day at all.
func (y *days) openableBy(hive int, k, earliest int32) int32 {
	if k >= noDay || y.mayOpenAnyDay(hive, k) {
		return k
	}
	for back, floor := k, max(earliest, 0); back >= floor; {
		if y.mayOpenAnyDay(hive, back) {
			return back
		}
		back = y.skip(back, -1)
	}
	for ahead := k; ahead < int32(y.n); {
		if y.mayOpenAnyDay(hive, ahead) {
			return ahead
		}
		ahead = y.skip(ahead, 1)
	}
	return k
}

// mayOpenAnyDay is mayOpen for days outside the calendar as well.
func (y *days) mayOpenAnyDay(hive int, k int32) bool {
	if k >= 0 && int(k) < y.n {
		return y.mayOpen(hive, k)
	}
	return y.closedBecause(hive, y.today+Date(k)) == ""
}

// skip returns the next day to look at from a day that is shut, over the rest
// of a stage in which nothing may be opened.
func (y *days) skip(k, step int32) int32 {
	d := y.today + Date(k)
	if y.season.n == 1 || y.season.rules[y.season.Stage(d)].Open {
		return k + step
	}
	first, last := y.season.StageSpan(d)
	if step < 0 {
		return int32(first-y.today) - 1
	}
	return int32(last-y.today) + 1
}
