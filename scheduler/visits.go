package scheduler

// planned is one visit of a projection.
type planned struct {
	day   int32
	old   int  // the old visit whose day it is, or -1
	kept  bool // that one stays whatever else is planned
	stood bool // it would be on another day if no tentative visit stood on this
	duty  bool
	boxes []plannedBox
}

// plannedBox is one box to be opened on a planned visit.
type plannedBox struct {
	box    int32
	due    int32
	reason Reason
	odds   float64 // of a hard opening
	stuck  float64 // of a stuck one
}

// work returns what the visit is expected to be at the apiary.
func (v *planned) work() Work {
	var w Work
	for i := range v.boxes {
		w.add(v.boxes[i].odds, v.boxes[i].stuck)
	}
	return w
}

// projection plans one apiary from today to the horizon: the visit that comes
// first is fixed, its boxes start again, and planning goes on from there.
type projection struct {
	days  days
	rules dueRules
	hours visitHours

	start  []boxDue // as the records stand; hive by hive, from the bottom up
	ends   []int32  // per hive: the end of its boxes in start
	boxes  []boxDue // as the projection goes
	saved  []boxDue // boxes before the visit at hand
	opened []bool   // in the visit at hand
	fixed  []fixedVisit
	stands []int32 // days of tentative visits
	duties []duty
	floor  int32 // no visit that planning chooses is before this day
	joins  int32 // nor is a box before this day put on a visit that stands

	unanswered map[int64]bool // boxes of visits about which nobody has said a word yet
	refused    []refusal
	now        int32 // the day that the projection has come to

	room     room
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
	p.room.restart()
	from := p.floor
	p.now = 0
	p.group(from)
	cost := p.grouping.cost
	for {
		day := p.nextDay()
		if day > HorizonDays {
			return cost
		}
		free := day
		day = p.still(day, from)
		p.now = day + 1
		from = max(from, p.now)
		v := p.gather(day)
		v.stood = day != free
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
	day := int32(noDay)
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
			v.kept = v.kept || p.fixed[i].kept
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
	b.from, b.off, b.kept = on, -noDay, -noDay
	b.seal(&p.days, on, 0)
	b.inDoubt, b.listedOn = false, 0
	b.setDue(&p.days, &p.rules)
	b.ruled = b.due
}

// wait leaves out of the visit at hand the boxes that need not be opened
// before the following one, on day next, from the bottom of each stack up to
// the first that must. It reports whether it left any out. A visit that would
// be left without a purpose keeps its boxes.
func (p *projection) wait(v *planned, next int32) bool {
	if next >= noDay || !v.duty && v.old < 0 && !p.someCannotWait(v.day, next) {
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
	if was.kept == day {
		return false
	}
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
			pb := plannedBox{box: b, due: was.ruled, reason: was.reason}
			if b > lowest && (was.earliest > v.day || was.due >= next) {
				pb.reason = BecauseAbove
			}
			pb.odds, pb.stuck = p.oddsOn(was, v.day)
			v.boxes = append(v.boxes, pb)
		}
		begin = end
	}
	p.visits = append(p.visits, v)
	if p.days.room != nil && !v.kept {
		w := v.work()
		p.room.take(&p.days, v.day, w.Hours(p.rules.Rules), w.openingHours(p.rules.Rules))
	}
}

// oddsOn returns the odds of a hard and of a stuck opening of b on day k, as they
// are said.
func (p *projection) oddsOn(b *boxDue, k int32) (hard, stuck float64) {
	return p.rules.recalibration.Odds(b.oddsOn(&p.days, k))
}
