package scheduler

import (
	"math"
	"slices"
)

// maxShiftDays is how far a replanned visit may move and still be the same
// visit. Further away one is called off and another made.
const maxShiftDays = 45

// nearDays is how many days before or after its day an opening may be recorded
// and still belong to a visit; a visit with none counts as missed after them.
const nearDays = 2

// reviveDays is how long a missed visit becomes done when its openings are
// written down after all.
const reviveDays = 30

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

// recorded is what the recorded visits of one apiary come to on a day.
type recorded struct {
	open    []Visit // still to come, by day
	past    []Visit // newly done or missed
	fixed   []fixedVisit
	pending Date // the latest visit that may still turn out done; zero for none
}

// openedNear reports whether any box of the apiary was opened so near to a
// visit that the opening belongs to it.
func openedNear(boxes []boxDue, on Date) bool {
	for i := range boxes {
		for j := range boxes[i].box.Openings {
			o := &boxes[i].box.Openings[j]
			if shift(int32(o.On), int32(on)) <= nearDays && counts(boxes[i].box.Openings, o) {
				return true
			}
		}
	}
	return false
}

// counts reports whether o is neither void nor superseded.
func counts(all []Opening, o *Opening) bool {
	return !o.Void && !slices.ContainsFunc(all, func(c Opening) bool {
		return o.ID != "" && c.Supersedes == o.ID
	})
}

// leftOver reports whether a visit still has a box that was not opened on or
// near its day.
func leftOver(boxes []boxDue, v *Visit) bool {
	for _, vb := range v.Boxes {
		for i := range boxes {
			b := &boxes[i]
			if b.box.ID == vb.BoxID && b.rate.LastTried < v.On-nearDays {
				return true
			}
		}
	}
	return false
}

// stand sorts the recorded visits of an apiary: which are over, and how, and
// which still stand. A visit is done when a box of the apiary was opened within
// nearDays of it and either its day is past or no box of it is left; it is
// missed when nearDays have passed without one. Until then it is left as it is.
func (s *recorded) stand(visits []Visit, apiary int64, boxes []boxDue, today Date) {
	s.open, s.past, s.fixed, s.pending = s.open[:0], s.past[:0], s.fixed[:0], 0
	for i := range visits {
		v := visits[i]
		if v.ApiaryID != apiary {
			continue
		}
		if v.Status == Missed && v.On >= today-reviveDays && openedNear(boxes, v.On) {
			s.end(v, Done)
			continue
		}
		if !v.Status.Open() {
			continue
		}
		opened := v.On <= today+nearDays && openedNear(boxes, v.On)
		switch {
		case opened && (v.On < today || len(v.Boxes) > 0 && !leftOver(boxes, &v)):
			s.end(v, Done)
		case v.On < today-nearDays:
			s.end(v, Missed)
		case v.On < today:
			s.pending = max(s.pending, v.On)
		default:
			s.open = append(s.open, v)
		}
	}
	slices.SortStableFunc(s.open, func(a, b Visit) int { return int(a.On - b.On) })
	for i := range s.open {
		v := &s.open[i]
		inHand := v.On == today && openedNear(boxes, v.On)
		if v.Pinned || len(v.NotBoxes) > 0 || inHand {
			s.fixed = append(s.fixed, fixedVisit{day: int32(v.On - today), old: i})
		}
	}
}

func (s *recorded) end(v Visit, status VisitStatus) {
	v.Status = status
	v.Sequence++
	s.past = append(s.past, v)
}

// heed enters what people asked for: days that stay where they are, boxes that
// were taken off a visit, and boxes that go with a visit which a person moved
// past their day.
func (p *projection) heed(open []Visit, fixed []fixedVisit) {
	p.fixed = append(p.fixed[:0], fixed...)
	for _, f := range fixed {
		for _, id := range open[f.old].NotBoxes {
			p.takeOff(id, f.day)
		}
	}
	for i := range p.start {
		b := &p.start[i]
		if day := p.movedPast(open, fixed, b); b.off < day {
			b.kept = day
		}
	}
}

// movedPast returns the day of the visit that opens b next when a person put
// it past the day on which b is due, else a day that is long past.
func (p *projection) movedPast(open []Visit, fixed []fixedVisit, b *boxDue) int32 {
	for i := range open {
		v := &open[i]
		at := slices.IndexFunc(v.Boxes, func(vb VisitBox) bool { return vb.BoxID == b.box.ID })
		if at < 0 {
			continue
		}
		due := v.Boxes[at].Due
		if due >= v.On || shift(int32(due-p.days.today), b.due) > maxShiftDays {
			break // meant for another opening of it
		}
		for _, f := range fixed {
			if f.old == i {
				return f.day
			}
		}
		break
	}
	return -never
}

// takeOff keeps a box, and those below it, which cannot be opened without it,
// off the visit of a day.
func (p *projection) takeOff(id int64, day int32) {
	for i := range p.start {
		if p.start[i].box.ID != id {
			continue
		}
		for j := i; j >= 0 && p.start[j].hive == p.start[i].hive; j-- {
			if b := &p.start[j]; b.off < day {
				b.off = day
				b.settle(&p.days, &p.rules)
			}
		}
		return
	}
}

// owe enters the stages that ask for a visit which nobody has made yet: no
// visit was done in them and no box opened.
func (p *projection) owe(visits, past []Visit) {
	y := &p.days
	p.duties = p.duties[:0]
	for _, sp := range y.spans {
		if y.season.n == 1 || y.season.rules[sp.stage].Required != VisitRequired {
			continue
		}
		if p.visited(visits, sp) || p.visited(past, sp) {
			continue
		}
		d := duty{lo: max(int32(sp.first-y.today), p.floor), hi: min(int32(sp.last-y.today), int32(y.n)-1)}
		d.due = d.hi
		for k := d.hi; k >= max(d.lo, 0); k-- {
			if y.allow[k] >= openable {
				d.due = k
				break
			}
		}
		if d.lo <= d.hi && p.grouping.bareDay(y, max(d.lo, 0), d.hi, d.due) >= 0 {
			p.duties = append(p.duties, d)
		}
	}
}

// visited reports whether the apiary was visited in a stage.
func (p *projection) visited(visits []Visit, sp stageSpan) bool {
	for i := range visits {
		v := &visits[i]
		if v.ApiaryID == p.days.apiary.ID && v.Status == Done && sp.first <= v.On && v.On <= sp.last {
			return true
		}
	}
	for i := range p.start {
		if on := p.start[i].rate.LastTried; sp.first <= on && on <= sp.last {
			return true
		}
	}
	return false
}

// hold projects the visits, keeping each confirmed one on its day unless that
// costs more than the rules' hold_hours or leaves it without a purpose.
func (p *Planner) hold() {
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
		pr.fixed = append(pr.fixed, fixedVisit{day: day, old: i})
		held := pr.run()
		v := pr.goesOn(day)
		if v != nil && (len(v.boxes) > 0 || v.duty) && held-cost <= pr.rules.HoldHours {
			cost, stale = held, false
			continue
		}
		pr.fixed = pr.fixed[:len(pr.fixed)-1]
		stale = true
	}
	if stale {
		pr.run()
	}
}

// holdable reports whether a visit may still be on a day.
func (p *projection) holdable(day int32) bool {
	return day >= p.floor && int(day) < p.days.n && p.days.visit[day]
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

// enter adds the projected visits to a plan, each under the identity of the
// old visit that it continues.
func (p *Planner) enter(plan *Plan, a *Apiary) {
	pr, open := &p.projection, p.standing.open
	taken := make([]int, len(pr.visits)) // per planned visit its old one or -1
	used := make([]bool, len(open))
	for i := range pr.visits {
		taken[i] = pr.visits[i].old
		if taken[i] >= 0 {
			used[taken[i]] = true
		}
	}
	p.pair(taken, used)
	for i := range pr.visits {
		var was *Visit
		if taken[i] >= 0 {
			was = &open[taken[i]]
			used[taken[i]] = true
		}
		plan.Visits = append(plan.Visits, pr.visit(i, was, a))
	}
	for i := range open {
		v := open[i]
		switch {
		case used[i]:
		case v.Pinned: // a person's, and past what is planned
			plan.Visits = append(plan.Visits, v)
		default:
			v.Status = Cancelled
			v.Sequence++
			plan.Cancel = append(plan.Cancel, v)
		}
	}
}

// pair gives the planned visits that have no old one yet the nearest that is
// not used yet.
func (p *Planner) pair(taken []int, used []bool) {
	old, now := p.days[0][:0], p.days[1][:0]
	var oldAt, nowAt []int
	for i := range used {
		if !used[i] && !p.standing.open[i].Pinned {
			old = append(old, int32(p.standing.open[i].On-p.projection.days.today))
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
	}
	v.On = p.days.today + Date(pv.day)
	v.Status = Tentative
	stayed := was != nil && was.Status == Confirmed && was.On == v.On
	if i == 0 || pv.day <= int32(p.rules.NoticeDays) || stayed {
		v.Status = Confirmed
	}
	v.For = NothingRequired
	v.Boxes = make([]VisitBox, len(pv.boxes))
	for j, b := range pv.boxes {
		v.Boxes[j] = VisitBox{
			BoxID: p.boxes[b.box].box.ID, Due: p.days.today + Date(b.due),
			Reason: b.reason, Odds: b.odds,
		}
		if b.reason == BecauseRequired {
			v.For = OpeningRequired
		}
	}
	if pv.duty {
		v.For = VisitRequired
	}
	v.Who = p.days.who(was, v.On)
	if was != nil && changed(was, &v) {
		v.Sequence++
	}
	return v
}

// changed reports whether people should hear that a visit is not what it was.
func changed(was, now *Visit) bool {
	return was.On != now.On || was.Status != now.Status || was.For != now.For ||
		!slices.Equal(was.Who, now.Who) ||
		!slices.EqualFunc(was.Boxes, now.Boxes, func(a, b VisitBox) bool { return a.BoxID == b.BoxID })
}

// who returns who goes on a day: those who went along with the old visit, or
// the apiary's keepers; without those who are away on the new day.
func (y *days) who(was *Visit, on Date) []int64 {
	if was != nil && (was.On == on || was.Pinned) {
		return was.Who
	}
	from := y.apiary.Keepers
	if was != nil {
		from = was.Who
	}
	var who []int64
	for _, id := range from {
		away := slices.ContainsFunc(y.members, func(m Member) bool {
			return m.ID == id && inAny(m.NoGo, on)
		})
		if !away {
			who = append(who, id)
		}
	}
	return who
}
