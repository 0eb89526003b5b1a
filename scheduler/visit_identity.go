package scheduler

import (
	"math"
	"slices"
)

// maxShiftDays is how far a replanned visit may move and still be the same
// visit. Further away one is called off and another made.
const maxShiftDays = 45

// match pairs old visits with new ones, both in day order, and keeps that
// order. It returns for each new one the old one that it continues, or -1. It
// minimises the days moved, where one dropped and one added count as a move of
// maxShiftDays together.
func match(old, now []int32) []int {
	n, m := len(old), len(now)
	cost := make([]int32, (n+1)*(m+1)) // in half days
	at := func(i, j int) *int32 { return &cost[i*(m+1)+j] }
	for i := range n + 1 {
		for j := range m + 1 {
			switch {
			case i == 0 && j == 0:
				continue
			case i == 0 || j == 0:
				*at(i, j) = int32(i+j) * maxShiftDays
				continue
			}
			least := min(*at(i-1, j), *at(i, j-1)) + maxShiftDays
			if s := shift(old[i-1], now[j-1]); s <= maxShiftDays {
				least = min(least, *at(i-1, j-1)+2*s)
			}
			*at(i, j) = least
		}
	}
	out := make([]int, m)
	for i, j := n, m; j > 0; {
		s := int32(math.MaxInt32)
		if i > 0 {
			s = shift(old[i-1], now[j-1])
		}
		switch {
		case s <= maxShiftDays && *at(i, j) == *at(i-1, j-1)+2*s:
			i, j = i-1, j-1
			out[j] = i
		case i > 0 && *at(i, j) == *at(i-1, j)+maxShiftDays:
			i--
		default:
			j--
			out[j] = -1
		}
	}
	return out
}

func shift(a, b int32) int32 { return max(a-b, b-a) }

// enter adds the projected visits to a plan, each under the identity of the
// old visit that it continues.
func (p *Planner) enter(plan *Plan, a *Apiary) {
	pr, open := &p.projection, p.standing.open
	taken := make([]int, len(pr.visits)) // per planned visit its old one or -1
	used := make([]bool, len(open))
	for _, f := range p.standing.fixed {
		used[f.old] = true
	}
	for i := range pr.visits {
		taken[i] = pr.visits[i].old
		if taken[i] >= 0 {
			used[taken[i]] = true
		}
	}
	p.pair(taken, used)
	p.keep(a, taken)
	plan.Visits = slices.Grow(plan.Visits, len(pr.visits))
	for i := range pr.visits {
		var was *Visit
		if taken[i] >= 0 {
			was = &open[taken[i]]
			used[taken[i]] = true
		}
		plan.Visits = append(plan.Visits, pr.visit(i, was, a))
	}
	for _, f := range p.standing.fixed { // the second of two on one day
		if !slices.Contains(taken, f.old) {
			plan.Visits = append(plan.Visits, pr.empty(&open[f.old]))
		}
	}
	for i := range open {
		v := open[i]
		switch {
		case used[i]:
		case v.On > plan.Today+HorizonDays && v.staysPut():
			// a person's, and past what is planned
			plan.Visits = append(plan.Visits, v)
		default:
			v.happen(VisitDropped)
			plan.Cancel = append(plan.Cancel, v)
		}
	}
}

// empty returns a visit without boxes, since another opens them that day.
func (p *projection) empty(was *Visit) Visit {
	v := *was
	v.Boxes, v.For = nil, NothingRequired
	if changed(was, &v) {
		v.happen(VisitReplanned)
	}
	return v
}

// pair gives the planned visits that have no old one yet the nearest that is
// not used yet.
func (p *Planner) pair(taken []int, used []bool) {
	old, now := p.days[0][:0], p.days[1][:0]
	var oldAt, nowAt []int
	for i := range used {
		if v := &p.standing.open[i]; !used[i] && v.On <= p.projection.days.today+HorizonDays {
			old = append(old, int32(v.On-p.projection.days.today))
			oldAt = append(oldAt, i)
		}
	}
	for i := range taken {
		if taken[i] < 0 {
			now = append(now, p.projection.visits[i].day)
			nowAt = append(nowAt, i)
		}
	}
	p.days = [2][]int32{old, now}
	for j, i := range match(old, now) {
		if i >= 0 {
			taken[nowAt[j]] = oldAt[i]
		}
	}
}

// visit makes the i-th planned visit into a record that continues was, if any.
// Its sequence grows when its day, status, duty, people or boxes differ; not
// when only the odds or due days of its boxes do.
func (p *projection) visit(i int, was *Visit, a *Apiary) Visit {
	pv := &p.visits[i]
	v := Visit{ApiaryID: a.ID}
	if was != nil {
		v = *was
		v.AskAnew, v.Returned = false, nil
	}
	v.On = p.days.today + Date(pv.day)
	v.For = NothingRequired
	v.Boxes = make([]VisitBox, len(pv.boxes))
	for j, b := range pv.boxes {
		v.Boxes[j] = VisitBox{
			BoxID: p.boxes[b.box].box.ID, Due: p.days.today + Date(b.due),
			Reason: b.reason, Odds: b.odds, Stuck: b.stuck,
		}
		if b.reason == BecauseRequired {
			v.For = OpeningRequired
		}
	}
	if pv.duty {
		v.For = VisitRequired
	}
	if !pv.kept || p.days.asksAnew(was) {
		v.Who = p.ask(was, &v)
	}
	firm := p.firm(i, was, &v)
	switch {
	case was == nil:
		v.Status = Tentative
		if firm {
			v.Status = Confirmed
		}
	case firm && was.Status == Tentative:
		v.happen(VisitNears)
	case !firm && was.Status == Confirmed:
		v.happen(VisitRecedes)
	case changed(was, &v):
		v.happen(VisitReplanned)
	}
	return v
}

// firm reports whether people may count on the day of the i-th planned visit:
// it is the apiary's next one or within the notice days, or they could before
// and it stayed. Nothing new is promised of boxes whose last visit nobody has
// said a word about.
func (p *projection) firm(i int, was, now *Visit) bool {
	if was != nil && was.Status == Confirmed && was.On == now.On {
		return true
	}
	return p.nears(i)
}

// nears reports whether people may count on the i-th planned visit from now on.
func (p *projection) nears(i int) bool {
	v := &p.visits[i]
	if v.day > int32(max(p.rules.NoticeDays, p.rules.LeadDays)) && i > 0 {
		return false
	}
	return !slices.ContainsFunc(v.boxes, func(b plannedBox) bool { return p.unanswered[p.boxes[b.box].box.ID] })
}

// changed reports whether people should hear that a visit is not what it was.
func changed(was, now *Visit) bool {
	return was.On != now.On || was.For != now.For ||
		!slices.Equal(was.Who, now.Who) ||
		!slices.EqualFunc(was.Boxes, now.Boxes, func(a, b VisitBox) bool { return a.BoxID == b.BoxID })
}
