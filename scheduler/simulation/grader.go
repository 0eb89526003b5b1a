package simulation

import (
	"math"

	"pryday/scheduler"
)

// grader is how one keeper of the imperfect world puts into words what was felt.
type grader struct {
	bias   float64              // how much harder than others, of ln
	coarse bool                 // three words only
	so     scheduler.Difficulty // what a coarse keeper writes for firm and hard
}

func (p *ImperfectClub) newGrader(nr int) grader {
	d := p.dice
	g := grader{bias: p.a.KeeperSD * d.normal(forKeeper, nr), coarse: d.draw(forPeople, nr) < p.a.Coarse, so: scheduler.Firm}
	if d.draw(forPeople, nr, 1) < 0.5 {
		g.so = scheduler.Hard
	}
	return g
}

// says returns the grade that the keeper writes for a seal.
func (g *grader) says(p *ImperfectClub, felt float64, box int, on scheduler.Date) scheduler.Difficulty {
	grade := p.grade(felt * math.Exp(g.bias+p.a.JudgingSD*p.dice.normal(ofJudging, box, int(on))))
	switch {
	case !g.coarse || grade == scheduler.Stuck:
		return grade
	case grade >= scheduler.Firm:
		return g.so
	}
	return scheduler.Loose
}

// grade returns how hard a seal of a strength is, 0 loose to 4 stuck.
func (p *ImperfectClub) grade(strength float64) scheduler.Difficulty {
	g := scheduler.Loose
	for g < scheduler.Stuck && strength > p.grades[g] {
		g++
	}
	return g
}
