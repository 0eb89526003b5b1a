package simulation

import (
	"math"

	"pryday/scheduler"
)

// strength returns how strong the seal of the i-th box is on a day, in sealing
// days of a box of rate 1.
func (s *site) strength(z seal, i int, on scheduler.Date) float64 {
	sum := z.left
	for from := z.since; from < on; {
		year, turns := beeYear(from)
		to := min(on, turns)
		sum += math.Exp(s.boxes[i].lnRate[year]) * s.climate.sum(from, to)
		from = to
	}
	return sum
}

// beeYear returns which year of lnRate a day lies in, and the day on which it
// ends: 1 May, when nuclei and queens are to be had and boxes are changed over.
func beeYear(on scheduler.Date) (year int, turns scheduler.Date) {
	calendar := on.Year()
	turns = scheduler.NewDate(calendar, 5, 1)
	if on >= turns {
		return calendar - epoch, scheduler.NewDate(calendar+1, 5, 1)
	}
	return max(0, calendar-1-epoch), turns
}

// grade returns how hard a seal of a strength is, 0 loose to 4 stuck.
func (p *Population) grade(strength float64) scheduler.Difficulty {
	g := scheduler.Loose
	for g < scheduler.Stuck && strength > p.grades[g] {
		g++
	}
	return g
}

// open opens the i-th box on a day, adds what its keeper writes down to
// records and returns how hard it really was. A box that is stuck is got open
// with the hours that this takes.
func (s *site) open(seals []seal, i int, on scheduler.Date, records *[]scheduler.Opening) scheduler.Difficulty {
	p, a := s.pop, &s.pop.assumptions
	id, day := s.boxes[i].id, int(on)
	strength := s.strength(seals[i], i, on)
	felt := strength * math.Exp(a.DaySD*p.dice.normal(ofTheDay, id, day))
	said := felt * math.Exp(s.keeper+a.JudgingSD*p.dice.normal(ofJudging, id, day))

	scraped, left := a.scrape(p.dice, p.grade(felt), strength, id, on)
	seals[i] = seal{since: on, left: left}
	if records != nil {
		*records = append(*records, scheduler.Opening{
			On: on, Joint: p.grade(said), Frames: scheduler.NotTried, Scraped: scraped,
		})
	}
	return p.grade(felt)
}
