package scheduler

import "slices"

// fixedVisit is a day on which somebody goes to the apiary whatever the
// grouping says: a person put it there, or it is held.
type fixedVisit struct {
	day  int32
	old  int  // its place among the apiary's old visits
	kept bool // whatever else is planned: not only held
	done bool
}

// wishRounds is how often an apiary is planned anew at most since what came out
// says something else about what people asked for.
const wishRounds = 4

// project plans the visits of the apiary. A visit that a person put on its day
// takes along what stands on it, see movedPast, and a confirmed one is held
// otherwise than a tentative one: what does, and which are, is known only once
// all is planned, and the next plan begins with it. So does this one, until it
// finds what it began with.
func (p *Planner) project() {
	pr := &p.projection
	p.asked, p.nearing = append(p.asked[:0], pr.start...), p.nearing[:0]
	p.cost = p.hold()
	for range wishRounds {
		asked := len(p.standing.fixed) > 0 && pr.askAsPlanned(p.asked)
		if near := p.confirm(); !asked && !near {
			break
		}
		copy(pr.start, p.asked)
		pr.fixed = append(pr.fixed[:0], p.standing.fixed...)
		pr.stand(p.standing.open)
		p.cost = p.hold()
	}
	for _, i := range p.nearing {
		p.standing.open[i].Status = Tentative
	}
}

// confirm holds the tentative visits that kept their days and that people may
// count on from now on as the confirmed ones that they will be, and reports
// whether there are any.
func (p *Planner) confirm() bool {
	pr, n := &p.projection, len(p.nearing)
	for at := range pr.visits {
		if v := &pr.visits[at]; v.stood && pr.nears(at) {
			on := pr.days.today + Date(v.day)
			i := slices.IndexFunc(p.standing.open, func(o Visit) bool { return o.On == on && o.Status == Tentative && !o.staysPut() })
			if i >= 0 {
				p.standing.open[i].Status = Confirmed
				p.nearing = append(p.nearing, i)
			}
		}
	}
	return len(p.nearing) > n
}

// hold projects the visits, keeping each confirmed one on its day unless that
// leaves it without a purpose or costs more than the rules' hold_hours. What it
// costs does not matter within the move notice, unless nobody had time for it:
// somebody may be on the way. It returns what the plan costs.
func (p *Planner) hold() float64 {
	pr := &p.projection
	cost := pr.run()
	p.held = p.held[:0]
	for i := range p.standing.open {
		if p.standing.open[i].Status == Confirmed {
			p.held = append(p.held, i)
		}
	}
	slices.SortFunc(p.held, func(a, b int) int {
		return int(p.standing.open[a].ID - p.standing.open[b].ID)
	})
	stale := false
	for _, i := range p.held {
		day := int32(p.standing.open[i].On - pr.days.today)
		if pr.goesOn(day) != nil && !stale || !pr.holdable(day) {
			continue
		}
		soon := day < pr.rules.soonest() && !p.standing.open[i].NoTime
		if held, ok := p.try(i, day); ok && (soon || held-cost <= pr.rules.HoldHours) {
			cost, stale = held, false
			continue
		}
		pr.release()
		pr.noSooner(&p.standing.open[i])
		stale = true
	}
	if stale {
		cost = pr.run()
	}
	return cost
}

// holdable reports whether a visit may still be on a day.
func (p *projection) holdable(day int32) bool {
	return int(day) < p.days.n && p.days.visit[day]
}

// goesOn returns the planned visit of a day, or nil.
func (p *projection) goesOn(day int32) *planned {
	for i := range p.visits {
		if p.visits[i].day == day {
			return &p.visits[i]
		}
	}
	return nil
}

// try projects the visits with an old one kept on its day; with its boxes, if
// it would lose them all otherwise. It returns the cost and whether the visit
// has a purpose.
func (p *Planner) try(i int, day int32) (cost float64, ok bool) {
	pr := &p.projection
	pr.fixed = append(pr.fixed, fixedVisit{day: day, old: i})
	cost = pr.run()
	if v := pr.goesOn(day); v == nil || len(v.boxes) > 0 || v.duty {
		return cost, v != nil
	}
	pr.keepTogether(&p.standing.open[i], day)
	cost = pr.run()
	v := pr.goesOn(day)
	return cost, v != nil && (len(v.boxes) > 0 || v.duty)
}

// release takes back what try did last.
func (p *projection) release() {
	day := p.fixed[len(p.fixed)-1].day
	p.fixed = p.fixed[:len(p.fixed)-1]
	for b := range p.start {
		if p.start[b].kept == day {
			p.start[b].kept = -noDay
		}
	}
}

// noSooner keeps the boxes of a confirmed visit that may move off the days
// before the rules' move notice: nobody is to find on a morning that a visit
// which stood further away is today.
func (p *projection) noSooner(v *Visit) {
	first := min(int32(v.On-p.days.today), int32(p.rules.MoveNotice))
	for _, b := range v.Boxes {
		p.keepOff(b.BoxID, first-1)
	}
}
