package simulation

import (
	"slices"

	"pryday/scheduler"
)

// Run scores one policy on a club.
func (p *ImperfectClub) Run(policy Policy, planner *scheduler.Planner) Score {
	var t tally
	var said promise
	var all []spoken
	boxes := 0
	for _, y := range p.yards {
		k := y.begin(policy.TrueRates)
		switch {
		case policy.Calendar > 0:
			k.follow(calendarDays(&k.book.apiary, policy.Calendar, p.from, p.until), everyBox)
		case policy.Random > 0:
			k.follow(k.anyDays(policy.Random), k.anyHives)
		case policy.Thumb > 0:
			k.byThumb(float64(policy.Thumb))
		default:
			k.byPlanner(&policy, planner)
		}
		boxes += len(y.places)
		t.add(k.tally)
		said.join(&k.said)
		all = append(all, k.spoken...)
	}
	score := t.score(policy.Name, boxes, len(p.yards), p.size.Years)
	score.said = said
	score.written, score.corrected = recalibrated(all)
	return score
}

// follow keeps the apiary on days known beforehand.
func (k *keep) follow(days []scheduler.Date, chosen func(on scheduler.Date, at int) bool) {
	last := scheduler.Date(0)
	for _, day := range days {
		on := k.weather.dryDay(max(day, last+1), k.book.apiary.Weekdays)
		if on >= k.club.until || !k.made(day) {
			continue
		}
		k.visit(on, func(at int) bool { return chosen(on, at) })
		last = on
	}
}

func everyBox(scheduler.Date, int) bool { return true }

// anyDays draws the days of so many visits in each openable season.
func (k *keep) anyDays(visits int) []scheduler.Date {
	p := k.club
	var out []scheduler.Date
	for _, span := range openable(&k.book.apiary, p.from, p.until) {
		for i := range visits {
			u := p.dice.draw(ofChance, k.nr, int(span.From), i)
			if on := span.From + scheduler.Date(u*float64(span.Until-span.From+1)); on >= p.from && on < p.until {
				out = append(out, on)
			}
		}
	}
	slices.Sort(out)
	return out
}

// anyHives opens every other hive, by a coin.
func (k *keep) anyHives(on scheduler.Date, at int) bool {
	return k.club.dice.draw(ofChance, k.nr, int(on), -1-k.places[at].hive) < 0.5
}

// byThumb keeps the apiary by the rule of thumb of a good keeper, who reads the
// notebook: goes when the first box has waited long enough, takes along what
// would be due within half of the days, and does not come back sooner than that.
func (k *keep) byThumb(days float64) {
	rules := scheduler.DefaultRules()
	season := scheduler.NewSeason(k.book.apiary.Place(), &rules)
	half := scheduler.Date(days / 2)
	for today := k.club.from; today < k.club.until; {
		k.book.arrive(today)
		day := max(k.firstThumbDay(days), today)
		for !season.MayOpen(day) {
			day++
		}
		on := k.weather.dryDay(day, k.book.apiary.Weekdays)
		eve := max(today, day-1)
		due := func(at int) bool { return k.thumbDay(days, at) <= on+half }
		switch next := k.book.next(today); {
		case next <= day:
			today = next
		case k.book.announce(eve):
			today = eve
		case on >= k.club.until:
			return
		case !k.made(day):
			today = day + 7
		default:
			k.visit(on, func(at int) bool { return k.anyBelow(at, due) })
			today = on + max(half, 14)
		}
	}
}

// firstThumbDay returns the day on which the rule of thumb sends the keeper to
// the first box.
func (k *keep) firstThumbDay(days float64) scheduler.Date {
	first := k.thumbDay(days, 0)
	for at := range k.places {
		first = min(first, k.thumbDay(days, at))
	}
	return first
}

// thumbDay returns the day until which the rule of thumb lets the box at a place
// wait, by what is written.
func (k *keep) thumbDay(days float64, at int) scheduler.Date {
	box := k.book.box(at)
	last, ok := box.LastOpening(k.club.until)
	if !ok {
		return box.SetUpOn + scheduler.Date(days)
	}
	switch g := last.Difficulty(); {
	case g >= scheduler.Hard:
		days /= 2
	case g == scheduler.Loose:
		days *= 1.5
	}
	return last.On + scheduler.Date(days)
}

// anyBelow reports whether something holds of a box or of one below it, for
// which it has to come off.
func (k *keep) anyBelow(at int, holds func(at int) bool) bool {
	for b := at; b >= 0 && k.places[b].hive == k.places[at].hive; b-- {
		if holds(b) {
			return true
		}
	}
	return false
}
