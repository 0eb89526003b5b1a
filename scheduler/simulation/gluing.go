package simulation

import (
	"math"

	"pryday/scheduler"
)

// gluing is how the seals of one apiary grow. A club has one of two ways:
//
//   - by leaps: the seal is a gamma process, little in most weeks and much in
//     some, and what is seen at an opening is what is there (van Noortwijk 2009,
//     "A survey of the application of gamma processes in maintenance", RESS 94);
//   - by chance: the seal grows as the weather has it, and how much of it a box
//     bears is drawn anew when it is closed, so that the age at which it sticks
//     has a Weibull distribution.
//
// In both, colonies differ by a gamma-distributed factor, boxes by a lognormal
// one. Strength 1 is the seal at which a box of an average club sticks.
type gluing struct {
	dice   dice
	first  scheduler.Date
	places []place
	byHive [][]float64 // gathered by each hive from first to each day
	leaps  [][]float64 // of each box in each week, around 1; nil where there are none
	own    [][]float64 // of each box in each year, around 1
	shape  float64     // of the Weibull distribution; 0 where seals grow by leaps
}

// newGluing works out what the hives of an apiary gather.
func (y *yard) newGluing(lives [][]reign) *gluing {
	p := y.club
	g := &gluing{dice: p.dice, first: p.began, places: y.places, shape: p.weibullShape}
	days := len(y.weather.glued)
	for _, reigns := range lives {
		sum := make([]float64, days)
		now := 0
		for k := 1; k < days; k++ {
			for now+1 < len(reigns) && reigns[now+1].from <= p.began+scheduler.Date(k-1) {
				now++
			}
			sum[k] = sum[k-1] + p.alone*reigns[now].glues*(y.weather.glued[k]-y.weather.glued[k-1])
		}
		g.byHive = append(g.byHive, sum)
	}
	for _, at := range y.places {
		g.own = append(g.own, p.ownParts(at.box))
		if g.shape == 0 {
			g.leaps = append(g.leaps, y.boxLeaps(at.box))
		}
	}
	return g
}

// boxLeaps draws the leaps of a box: what it adds in a week has the mean of what
// is gathered in it and the variance of a gamma process.
func (y *yard) boxLeaps(id int) []float64 {
	p, glued := y.club, y.weather.glued
	out := make([]float64, len(glued)/7+1)
	for w := range out {
		shape := p.gammaShape * (glued[min(7*w+7, len(glued)-1)] - glued[min(7*w, len(glued)-1)])
		out[w] = 1
		if shape > 1e-3 {
			out[w] = p.dice.gamma(shape, ofSealing, id, w) / shape
		}
	}
	return out
}

// ownParts draws the part of its gluing that a box has to itself, by years.
func (p *ImperfectClub) ownParts(id int) []float64 {
	always := p.boxSD * p.dice.normal(forBox, id)
	out := make([]float64, p.years())
	for y := range out {
		out[y] = math.Exp(always + p.a.BoxYearSD*p.dice.normal(forBoxYear, id, y))
	}
	return out
}

// grown returns what has been added, up to a day, to the seal of the i-th box
// that was closed at the at-th place on a day.
func (g *gluing) grown(at, i int, closed, on scheduler.Date) float64 {
	sum, gathered := 0.0, g.byHive[g.places[at].hive]
	for from := closed; from < on; {
		week := int(from-g.first) / 7
		next := min(on, g.first+scheduler.Date(7*week+7))
		add := gathered[next-g.first] - gathered[from-g.first]
		if g.leaps != nil {
			add *= g.leaps[i][week]
		}
		sum += add * g.own[i][g.year(from)]
		from = next
	}
	return sum * g.places[at].lift * g.bears(i, closed)
}

// year returns which of the years of own, each of 52 weeks, a day lies in.
func (g *gluing) year(on scheduler.Date) int { return int(on-g.first) / 364 }

// bears returns by how much sooner than others a box that was closed on a day
// sticks: the inverse of a Weibull number with median 1.
func (g *gluing) bears(i int, closed scheduler.Date) float64 {
	if g.shape == 0 {
		return 1
	}
	u := g.dice.draw(ofSealing, g.places[i].box, int(closed))
	return math.Pow(-math.Log(u)/math.Ln2, -1/g.shape)
}
