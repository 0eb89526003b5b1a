package simulation

import "math"

// promise is what was said of openings before they were made, against what was
// found: openings by tenths of the stated odds of a hard one.
type promise struct {
	openings, hard [10]int
	odds           [10]float64 // sum of what was said
	squares        float64     // sum of the squared differences of what was said and found
}

func (p *promise) add(odds float64, hard bool) {
	tenth := min(int(10*odds), 9)
	p.openings[tenth]++
	p.odds[tenth] += odds
	found := 0.0
	if hard {
		p.hard[tenth]++
		found = 1
	}
	p.squares += (odds - found) * (odds - found)
}

func (p *promise) join(o *promise) {
	for t := range p.openings {
		p.openings[t] += o.openings[t]
		p.hard[t] += o.hard[t]
		p.odds[t] += o.odds[t]
	}
	p.squares += o.squares
}

func (p *promise) count() (openings, hard int) {
	for t := range p.openings {
		openings += p.openings[t]
		hard += p.hard[t]
	}
	return openings, hard
}

// gap returns the mean distance over openings between what was said and what
// was found in its tenth; NaN where nothing was said.
func (p *promise) gap() float64 {
	all, _ := p.count()
	sum := 0.0
	for t := range p.openings {
		sum += math.Abs(p.odds[t] - float64(p.hard[t]))
	}
	return sum / float64(all)
}

// brier returns the mean square of the difference between what was said and
// found (Brier 1950, "Verification of forecasts expressed in terms of
// probability", Monthly Weather Review 78), and what it would be if the share
// of all hard openings had been said of each.
func (p *promise) brier() (said, share float64) {
	all, hard := p.count()
	mean := float64(hard) / float64(all)
	return p.squares / float64(all), mean * (1 - mean)
}
