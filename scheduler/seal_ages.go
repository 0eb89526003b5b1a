package scheduler

import "math"

// mostAges is how many ages of one seal are held apart.
const mostAges = 4

// ages are what may be left of a seal where it is not known whether it was
// broken since the last record: first what there is by the records, then, for each
// day on which it may have been opened, what there is if it was. With n 0 nothing
// is in doubt.
type ages struct {
	n      int
	left   [mostAges]float64 // sealing days
	weight [mostAges]float64 // they sum to 1
}

// maybeOpened records that a seal was opened with probability p on a day until
// which it had grown by some sealing days, and that nobody wrote it down.
func (z *Seal) maybeOpened(on Date, grown, p float64) {
	a := &z.maybe
	mean := z.Left + grown
	if mean <= 0 {
		return
	}
	if a.n == 0 {
		a.n, a.left[0], a.weight[0] = 1, z.Left, 1
	}
	if a.n == mostAges { // the two oldest of those in doubt become one
		w := a.weight[1] + a.weight[2]
		a.left[1] = (a.weight[1]*a.left[1] + a.weight[2]*a.left[2]) / w
		a.weight[1] = w
		a.left[2], a.weight[2] = a.left[3], a.weight[3]
		a.n--
	}
	z.grow(grown, on)
	for i := range a.n {
		a.weight[i] *= 1 - p
	}
	a.left[a.n], a.weight[a.n] = remainsUnknown*mean, p
	a.n++
	z.Left, z.maybeOn = a.mean(), on
}

// grow adds the sealing days that a seal has grown by until a day.
func (z *Seal) grow(days float64, on Date) {
	z.Left += days
	for i := range z.maybe.n {
		z.maybe.left[i] += days
	}
	z.Since = on
}

func (a *ages) mean() (left float64) {
	for i := range a.n {
		left += a.weight[i] * a.left[i]
	}
	return left
}

// learn returns what surprise does for a seal that has grown by some sealing days
// since, when ln k of the box has a mean and a variance, and weighs its ages anew
// by how well each explains the difficulty that was found.
func (z *Seal) learn(grown, mean, variance float64, found span) (shift, shrink float64) {
	a := &z.maybe
	if a.n == 0 {
		if z.Left+grown <= 0 {
			return 0, 0
		}
		shift, shrink, _ = surprise(z.Left+grown, mean, variance, found)
		return shift, shrink
	}
	var shifts, shrinks [mostAges]float64
	sum := 0.0
	for i := range a.n {
		p := 0.0
		if age := a.left[i] + grown; age > 0 {
			shifts[i], shrinks[i], p = surprise(age, mean, variance, found)
		} else if math.IsInf(found.low, -1) {
			p = 1
		}
		a.weight[i] *= p
		sum += a.weight[i]
	}
	if sum <= 0 {
		return 0, 0
	}
	squares := 0.0
	for i := range a.n {
		a.weight[i] /= sum
		shift += a.weight[i] * shifts[i]
		squares += a.weight[i] * shifts[i] * shifts[i]
		shrink += a.weight[i] * shrinks[i]
	}
	z.Left = a.mean()
	return shift, shrink - (squares - shift*shift)
}

// odds returns the odds of a difficulty at or above at when the seal has grown by
// some sealing days since, see Odds.
func (z *Seal) odds(grown, mean, variance float64, at Difficulty) float64 {
	a := &z.maybe
	if a.n == 0 {
		return Odds(z.Left+grown, mean, variance, at)
	}
	sum := 0.0
	for i := range a.n {
		sum += a.weight[i] * Odds(a.left[i]+grown, mean, variance, at)
	}
	return sum
}

// hardAndStuck returns odds of both difficulties.
func (z *Seal) hardAndStuck(grown, mean, variance float64) (hard, stuck float64) {
	a := &z.maybe
	if a.n == 0 {
		return hardAndStuck(z.Left+grown, mean, variance)
	}
	for i := range a.n {
		h, s := hardAndStuck(a.left[i]+grown, mean, variance)
		hard += a.weight[i] * h
		stuck += a.weight[i] * s
	}
	return hard, stuck
}
