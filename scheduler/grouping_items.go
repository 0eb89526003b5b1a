package scheduler

import "slices"

// What stands for a hive in items that open no box.
const (
	noHive   = -1 // a duty
	fixedDay = -2 // a visit that stands on its day whatever is planned
)

// group lays out the items as the boxes stand and groups them into visits
// from a day on.
func (p *projection) group(from int32) {
	g := &p.grouping
	g.items = g.items[:0]
	begin := int32(0)
	for hive, end := range p.ends {
		for b := begin; b < end; {
			top := b
			for top+1 < end && p.boxes[top+1].due >= p.boxes[b].due &&
				Date(max(p.boxes[b].due, from)) >= p.boxes[top+1].box.SetUpOn-p.days.today {
				top++
			}
			p.addBoxes(int32(hive), b, top, from)
			b = top + 1
		}
		begin = end
	}
	for i := range p.duties {
		d := &p.duties[i]
		lo, due := max(d.lo, from), max(d.due, from)
		if !d.done && lo <= d.hi && g.bareDay(&p.days, lo, d.hi, due) >= 0 {
			g.items = append(g.items, item{
				due: due, lo: lo, hi: d.hi,
				need: preferred, bare: true, hive: noHive, box: int32(i),
			})
		}
	}
	for i := range p.fixed {
		if f := &p.fixed[i]; !f.done {
			g.items = append(g.items, item{
				due: f.day, lo: f.day, hi: f.day,
				need: openable, bare: true, hive: fixedDay, box: int32(i),
			})
		}
	}
	g.before = g.before[:0]
	for k := p.now; k < from; k++ {
		if !slices.ContainsFunc(p.fixed, func(f fixedVisit) bool { return f.day == k && !f.done }) {
			g.before = append(g.before, k)
		}
	}
	g.sort()
	g.solve(&p.days, p.boxes, &p.hours)
}

// addBoxes adds an item of the boxes b to top of a hive, unless their day is
// past what the planner looks at or there is no day for them.
func (p *projection) addBoxes(hive, b, top, from int32) {
	y := &p.days
	base := &p.boxes[b]
	kept := base.kept >= max(base.rested, p.now) && y.mayOpen(int(hive), base.kept)
	if int(base.due) >= y.n && !kept {
		return
	}
	it := item{due: base.due, hive: hive, box: b, top: top, need: openable}
	soonest := max(base.earliest, from, 0)
	it.lo, it.hi = p.joinable(base, soonest), min(base.latest, int32(y.n)-1)
	if limit, unput := p.hardAbove(b, top), max(base.rested, from, 0); unput <= limit && limit < it.lo && base.putOff {
		it.lo, it.hi, it.due = p.joinable(base, unput), limit, min(it.due, limit) // else those above would be opened twice
	}
	for i := b + 1; i <= top; i++ {
		it.hi = min(it.hi, max(p.boxes[i].latest, base.due))
	}
	first := y.first(int(hive), it.lo, it.hi, openable)
	switch {
	case kept:
		it.due, it.lo, it.hi = base.kept, base.kept, base.kept
	case first >= 0:
		if y.first(int(hive), max(first, soonest), it.hi, preferred) >= 0 {
			it.need = preferred
		}
	default: // too late already: the first days that there are
		first = y.first(int(hive), it.lo, int32(y.n)-1, openable)
		if first < 0 {
			return
		}
		it.lo, it.hi = first, min(first+6, int32(y.n)-1)
		for i := b; i <= top; i++ {
			if h := p.boxes[i].hard; h >= first {
				it.hi = min(it.hi, h)
			}
		}
		if y.first(int(hive), max(first, soonest), it.hi, preferred) >= 0 {
			it.need = preferred
		}
	}
	if base.kept != it.lo {
		p.stretch(&it)
	}
	for i := b; i <= top; i++ {
		it.add(&p.boxes[i], p.hours.open)
		it.addPrying(&p.boxes[i])
	}
	it.open = p.hours.open * float64(top-b+1)
	it.lift = p.hours.lift * float64(base.full)
	if above := top + 1; above < p.ends[hive] {
		it.lift -= p.hours.lift * float64(p.boxes[above].full)
	}
	p.grouping.items = append(p.grouping.items, it)
}

// hardAbove returns the first hard limit of the boxes above b up to top.
func (p *projection) hardAbove(b, top int32) int32 {
	first := int32(noDay)
	for i := b + 1; i <= top; i++ {
		first = min(first, p.boxes[i].hard)
	}
	return first
}

// joinable returns the day of the first visit that stands before day lo and that
// a box may be put on, or lo.
func (p *projection) joinable(b *boxDue, lo int32) int32 {
	for i := range p.fixed {
		f := &p.fixed[i]
		if !f.done && f.day < lo && f.day >= max(b.earliest, p.joins, p.now) && p.days.mayOpen(int(b.hive), f.day) {
			lo = f.day
		}
	}
	return lo
}

// stretch lets an item wait longer where nobody has time for it on its days: by
// the grace that the odds give, and not past a hard limit that is still to come.
func (p *projection) stretch(it *item) {
	y := &p.days
	if y.anyFits(it.lo, it.hi, it.open) {
		return
	}
	hi := min(it.lo+graceDays, int32(y.n)-1)
	for _, b := range p.boxes[it.box : it.top+1] {
		if b.limit >= it.lo {
			hi = min(hi, b.hard)
		}
	}
	it.hi = max(it.hi, hi)
}
