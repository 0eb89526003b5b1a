package simulation

import (
	"math"
	"slices"

	"pryday/scheduler"
)

// byPlanner keeps the apiary by the planner, which plans anew after each visit,
// when an entry arrives before the next one, and when word of a visit has been
// waited for in vain.
func (k *keep) byPlanner(policy *Policy, planner *scheduler.Planner) {
	d := newDesk(policy, planner, k.book.apiary)
	for today := k.club.from; today < k.club.until; {
		k.book.arrive(today)
		*d.apiary() = k.book.apiary
		var rates scheduler.Rates
		if policy.TrueRates {
			rates = k.trueRates(&d, today)
		}
		visit := d.next(today, rates)
		news := min(k.book.next(today), k.givenUp(&d, today))
		switch {
		case visit == nil && news > today+28:
			today += 28
		case visit == nil || news <= visit.On:
			today = news
		case k.book.announce(max(today, visit.On-1)):
			today = max(today, visit.On-1)
		default:
			today = k.byList(visit) + 1
		}
	}
}

// givenUp returns the first day after today on which nothing more is expected
// to be said about a visit.
func (k *keep) givenUp(d *desk, today scheduler.Date) scheduler.Date {
	first := scheduler.Date(math.MaxInt32)
	for i := range d.club.Visits {
		if v := &d.club.Visits[i]; v.Status == scheduler.Unanswered {
			first = min(first, v.On+scheduler.Date(d.club.Rules.AnswerDays)+1)
		}
	}
	return max(first, today+1)
}

// byList makes a visit on the first dry day, or lets it be missed, and returns
// the last day of it. Some say what became of it and some do not.
func (k *keep) byList(v *scheduler.Visit) scheduler.Date {
	p := k.club
	meant := v.On
	says := k.book.perfect || k.answers(meant)
	if !k.made(meant) {
		if says {
			v.Status = scheduler.Missed
		}
		return meant
	}
	on := k.weather.dryDay(meant, k.book.apiary.Weekdays)
	if on >= p.until {
		return on
	}
	opened := k.visit(on, func(at int) bool { return v.Lists(k.book.box(at).ID) })
	k.compare(v, opened, on)
	if says {
		v.On, v.Status = on, scheduler.Done
	}
	return on
}

// answers reports whether anybody says what became of the visit meant for a day.
func (y *yard) answers(day scheduler.Date) bool {
	return y.club.dice.draw(ofAnswering, y.nr, int(day)) >= y.club.a.Silent
}

// compare holds what was said of a visit's boxes against what was found.
func (k *keep) compare(v *scheduler.Visit, opened []found, on scheduler.Date) {
	for _, f := range opened {
		i := slices.IndexFunc(v.Boxes, func(b scheduler.VisitBox) bool { return b.BoxID == f.boxID })
		k.speak(&v.Boxes[i], f, on)
		if on >= k.club.scored {
			k.said.add(v.Boxes[i].Odds, f.grade >= scheduler.Hard)
		}
	}
}

// pace returns what the box at a place adds to its seal on a day, against what
// the weather has bees gather.
func (k *keep) pace(at int, on scheduler.Date) float64 {
	i, glues := k.stands[at], 0.0
	for _, r := range k.lives[k.places[at].hive] {
		if r.from <= on {
			glues = r.glues
		}
	}
	g := k.gluing
	return k.club.alone * glues * g.own[i][g.year(on)] * k.places[at].lift * g.bears(i, k.seals[at].since)
}

// trueRates returns rates with which the planner knows every seal: how strong it
// is on the day and how fast it grows in an average year at the place. The
// planner's own unit is a sealing day, of which a stuck box has some 400.
func (k *keep) trueRates(d *desk, today scheduler.Date) scheduler.Rates {
	p, place := k.club, k.book.apiary.Place()
	season := scheduler.NewSeason(place, &d.club.Rules)
	years := float64(p.until-p.began) / 365.25
	aYear := k.weather.sum(p.began, p.until) / years
	sealing := season.SealingDays(p.began, p.until) / years
	const stuck = 400
	rates := d.rates(today)
	for at := range rates {
		grows := stuck / p.grades[3] * aYear / sealing * max(k.pace(at, today), 0.02)
		rates[at].Since, rates[at].Left = today, stuck/p.grades[3]*k.strength(at, today)/grows
		rates[at].Mean, rates[at].Variance, rates[at].RatedOn = math.Log(grows), 0, today
	}
	return rates
}
