package scheduler

// fixedVisit is a day on which somebody goes to the apiary whatever the
// grouping says: a person put it there, or it is held.
type fixedVisit struct {
	day  int32
	old  int // its place among the apiary's old visits
	done bool
}

// duty is a stage that asks for a visit to the apiary.
type duty struct {
	lo, hi, due int32
	done        bool
}

// planned is one visit of a projection.
type planned struct {
	day   int32
	old   int // the old visit whose day it is, or -1
	duty  bool
	boxes []plannedBox
}

// plannedBox is one box to be opened on a planned visit.
type plannedBox struct {
	box    int32
	due    int32
	reason Reason
	odds   float64
}

// projection plans one apiary from today to the horizon: the visit that comes
// first is fixed, its boxes start again, and planning goes on from there.
type projection struct {
	days   days
	rules  dueRules
	travel float64 // hours

	start  []boxDue // as the records stand; hive by hive, from the bottom up
	ends   []int32  // per hive: the end of its boxes in start
	boxes  []boxDue // as the projection goes
	saved  []boxDue // boxes before the visit at hand
	opened []bool   // in the visit at hand
	fixed  []fixedVisit
	duties []duty
	floor  int32 // no visit that planning chooses is before this day

	grouping grouping
	visits   []planned
	unused   []planned // visits of earlier runs, whose slices are used again
}

// run projects the visits and returns the hours that the grouping of the
// boxes' next openings costs.
func (p *projection) run() float64 {
	p.unused = append(p.unused, p.visits...)
	p.visits = p.visits[:0]
	p.boxes = append(p.boxes[:0], p.start...)
	p.saved = resize(p.saved, len(p.start))
	p.opened = resize(p.opened, len(p.start))
	for i := range p.fixed {
		p.fixed[i].done = false
	}
	for i := range p.duties {
		p.duties[i].done = false
	}
	from := p.floor
	p.group(from)
	cost := p.grouping.cost
	for {
		day := p.nextDay()
		if day > HorizonDays {
			return cost
		}
		from = max(from, day+1)
		v := p.gather(day)
		for i := range p.boxes {
			if p.opened[i] {
				p.restart(i, day)
			}
		}
		p.group(from)
		next := p.nextDay()
		if p.wait(&v, next) {
			p.group(from)
		}
		p.record(v, next)
	}
}

// nextDay returns the day of the first visit of the grouping, or never.
func (p *projection) nextDay() int32 {
	day := int32(never)
	for _, g := range p.grouping.groups {
		day = min(day, g.day)
	}
	return day
}

// gather marks the boxes that the visit on a day opens and the duties and
// fixed visits that it answers.
func (p *projection) gather(day int32) planned {
	v := planned{day: day, old: -1}
	if n := len(p.unused); n > 0 {
		v.boxes = p.unused[n-1].boxes[:0]
		p.unused = p.unused[:n-1]
	}
	clear(p.opened)
	for _, g := range p.grouping.groups {
		if g.day != day {
			continue
		}
		for _, it := range p.grouping.items[g.first : g.last+1] {
			for b := it.box; !it.bare && b <= it.top; b++ {
				p.opened[b] = p.boxes[b].box.SetUpOn <= p.days.today+Date(day)
			}
		}
	}
	for i := range p.fixed {
		if p.fixed[i].day == day && !p.fixed[i].done {
			p.fixed[i].done, v.old = true, p.fixed[i].old
		}
	}
	for i := range p.duties {
		if d := &p.duties[i]; !d.done && d.lo <= day && day <= d.hi {
			d.done, v.duty = true, true
		}
	}
	p.openAbove(day)
	return v
}

// openAbove marks the boxes that stand above a marked one.
func (p *projection) openAbove(day int32) {
	b := int32(0)
	for _, end := range p.ends {
		for below := false; b < end; b++ {
			if below && p.boxes[b].box.SetUpOn <= p.days.today+Date(day) {
				p.opened[b] = true
			}
			below = below || p.opened[b]
		}
	}
}

// restart begins a box anew after an opening that scrapes it clean on day,
// keeping what it was in saved.
func (p *projection) restart(i int, day int32) {
	b := &p.boxes[i]
	p.saved[i] = *b
	on := p.days.today + Date(day)
	b.from, b.tried, b.off, b.kept = on, day, -never, -never
	b.seal(&p.days, on, 0)
	b.settle(&p.days, &p.rules)
}

// wait leaves out of the visit at hand the boxes that need not be opened
// before the following one, on day next, from the bottom of each stack up to
// the first that must. It reports whether it left any out. A visit that would
// be left without a purpose keeps its boxes.
func (p *projection) wait(v *planned, next int32) bool {
	if next >= never || !v.duty && v.old < 0 && !p.someCannotWait(v.day, next) {
		return false
	}
	waited := false
	b := int32(0)
	for _, end := range p.ends {
		for ; b < end; b++ {
			if !p.opened[b] {
				continue
			}
			if !p.canWait(b, v.day, next) {
				break
			}
			p.opened[b] = false
			p.boxes[b] = p.saved[b]
			waited = true
		}
		b = end
	}
	return waited
}

// canWait reports whether nothing but a box below it speaks for opening a box
// on day: it was opened too short a time ago, or day next will do as well.
func (p *projection) canWait(b, day, next int32) bool {
	was := &p.saved[b]
	return was.earliest > day || was.due >= next && p.days.mayOpen(int(was.hive), next)
}

// someCannotWait reports whether the visit at hand would keep a purpose.
func (p *projection) someCannotWait(day, next int32) bool {
	for b := range p.opened {
		if p.opened[b] && !p.canWait(int32(b), day, next) {
			return true
		}
	}
	return false
}

// record adds the visit at hand with its boxes in the order of the hands:
// hive by hive, from the top.
func (p *projection) record(v planned, next int32) {
	begin := int32(0)
	for _, end := range p.ends {
		lowest := begin
		for lowest < end && !p.opened[lowest] {
			lowest++
		}
		for b := end - 1; b >= lowest; b-- {
			if !p.opened[b] {
				continue
			}
			was := &p.saved[b]
			pb := plannedBox{box: b, due: was.due, reason: was.reason}
			if b > lowest && (was.earliest > v.day || was.due >= next) {
				pb.reason = BecauseAbove
			}
			pb.odds = Odds(was.ageOn(&p.days, v.day), was.rate.Mean,
				was.rate.VarianceOn(p.days.today+Date(v.day)), Hard)
			v.boxes = append(v.boxes, pb)
		}
		begin = end
	}
	p.visits = append(p.visits, v)
}

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
		if d := &p.duties[i]; !d.done && d.hi >= from {
			g.items = append(g.items, item{due: max(d.due, from), lo: max(d.lo, from), hi: d.hi,
				need: preferred, bare: true, hive: -1, box: int32(i), turn: max(d.due, from)})
		}
	}
	for i := range p.fixed {
		if f := &p.fixed[i]; !f.done {
			g.items = append(g.items, item{due: f.day, lo: f.day, hi: f.day,
				need: personal, bare: true, hive: -2, box: int32(i), turn: f.day})
		}
	}
	g.sort()
	g.solve(&p.days, p.boxes, p.travel, p.rules.Hours.Open)
}

// addBoxes adds an item of the boxes b to top of a hive, unless their day is
// past what the planner looks at or there is no day for them.
func (p *projection) addBoxes(hive, b, top, from int32) {
	y := &p.days
	base := &p.boxes[b]
	if int(base.due) >= y.n {
		return
	}
	it := item{due: base.due, hive: hive, box: b, top: top, need: openable}
	it.lo, it.hi = max(base.earliest, from, 0), min(base.latest, int32(y.n)-1)
	for i := b + 1; i <= top; i++ {
		it.hi = min(it.hi, max(p.boxes[i].latest, base.due))
	}
	kept := base.kept
	if kept < it.lo || kept <= it.hi || int(kept) >= y.n || y.allow[kept] == shut || y.leftAlone(int(hive), kept) {
		kept = -never
	}
	first := y.first(int(hive), it.lo, it.hi, openable)
	latest := it.hi
	switch {
	case first >= 0:
		if y.first(int(hive), first, it.hi, preferred) >= 0 {
			it.need = preferred
		}
		it.hi = max(it.hi, kept)
	case kept >= 0 && y.allow[kept] >= openable:
		it.hi, latest = kept, it.lo-1
	default: // too late already: the first day that there is
		first = y.first(int(hive), it.lo, int32(y.n)-1, openable)
		if first < 0 {
			return
		}
		it.lo, it.hi = first, first
		until := first + 6
		for i := b; i <= top; i++ {
			if h := p.boxes[i].hard; h >= first {
				until = min(until, h)
			}
		}
		if k := y.first(int(hive), first, until, preferred); k >= 0 {
			it.hi, it.need = k, preferred
		}
		latest = it.hi
	}
	it.latest, it.kept, it.turn = latest, it.lo-1, base.turn
	if latest < it.hi { // only the day that a person set is past the limit
		it.kept = kept
	}
	for i := b; i <= top; i++ {
		it.add(&p.boxes[i], p.rules.Hours.Open)
		it.turn = min(it.turn, p.boxes[i].turn)
	}
	p.grouping.items = append(p.grouping.items, it)
}
