package simulation

import (
	"math"

	"pryday/scheduler"
)

// reign is a span of a hive under one queen, or without bees.
type reign struct {
	from  scheduler.Date
	glues float64 // against an average colony; 0 without bees
	noted bool    // its beginning was written down
}

// lives draws who lives in a hive over the years: colonies die in winter and
// are replaced in spring, others get a new queen between spring and summer.
func (p *ImperfectClub) lives(hive int, latitude float64) []reign {
	a, d := &p.a, p.dice
	shape := 1 / (p.colonyCV * p.colonyCV)
	fresh := func(y int) float64 { return d.gamma(shape, forColony, hive, y) / shape }
	glues := fresh(-1)
	out := []reign{{from: p.began, glues: glues, noted: true}}
	begin := func(y int, on scheduler.Date, glues float64) {
		noted := d.draw(ofQueens, hive, y, 1) >= a.QueensUnnoted
		out = append(out, reign{from: on, glues: glues, noted: noted})
	}
	for y := range p.years() {
		day := scheduler.NewDate(epoch+y, 1, 1)
		if latitude < 0 {
			day += 181
		}
		spring := day + 110 + scheduler.Date(50*d.draw(ofQueens, hive, y, 2))
		switch {
		case d.draw(ofDying, hive, y) < a.Dies:
			glues = fresh(y)
			died := day + 20 + scheduler.Date(50*d.draw(ofDying, hive, y, 1))
			out = append(out, reign{from: died})
			begin(y, spring, glues)
		case d.draw(ofQueens, hive, y) < a.NewQueens:
			glues = math.Sqrt(glues * fresh(y)) // her workers are the old hive's for weeks, and the wood keeps its glue
			begin(y, spring+30, glues)
		}
	}
	return out
}

// requeened returns the days up to a day on which a queen or a colony came in,
// all or those noted.
func requeened(lives []reign, all bool, until scheduler.Date) []scheduler.Date {
	var out []scheduler.Date
	for _, r := range lives[1:] {
		if r.from <= until && r.glues > 0 && (all || r.noted) {
			out = append(out, r.from)
		}
	}
	return out
}
