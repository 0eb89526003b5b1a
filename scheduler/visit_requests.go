package scheduler

import "slices"

// applyRequests enters what people asked for: days that stay where they are, boxes that
// were taken off a visit, and boxes that go with a visit which a person moved
// past their day.
func (p *projection) applyRequests(open []Visit, fixed []fixedVisit) {
	p.fixed = append(p.fixed[:0], fixed...)
	for _, f := range fixed {
		for _, id := range open[f.old].NotBoxes {
			for _, b := range p.keepOff(id, f.day) {
				b.ruled = b.due // a person's word changes what it is due by
			}
		}
	}
	for _, f := range fixed {
		// Who goes in the next days finds what they were told of.
		if f.day < max(p.floor, p.rules.soonest()) {
			p.keepTogether(&open[f.old], f.day)
		}
	}
	for i := range p.start {
		b := &p.start[i]
		if day := p.movedPast(open, fixed, b); b.kept == -noDay && b.off < day {
			b.kept = day
		}
	}
}

// keepTogether keeps the boxes of a visit that nothing else binds on its day, unless
// that is past what the rules allow them.
func (p *projection) keepTogether(v *Visit, day int32) {
	for _, vb := range v.Boxes {
		for i := range p.start {
			b := &p.start[i]
			inTime := day <= b.latest || b.latest < 0 // or too late anyway
			if b.box.ID == vb.BoxID && b.kept == -noDay && b.off < day && inTime {
				b.kept = day
			}
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
		day, was := int32(v.On-p.days.today), int32(v.Boxes[at].Due-p.days.today)
		if day <= b.due || day > b.due+maxShiftDays || shift(was, b.ruled) > maxShiftDays {
			break // not past it, too far past it, or meant for another opening
		}
		for _, f := range fixed {
			if f.old == i {
				return f.day
			}
		}
		break
	}
	return -noDay
}

// keepOff keeps a box, and those below it, which cannot be opened without it,
// off every day up to one, and returns those for which that is news.
func (p *projection) keepOff(id int64, day int32) (moved []*boxDue) {
	for i := range p.start {
		if p.start[i].box.ID != id {
			continue
		}
		for j := i; j >= 0 && p.start[j].hive == p.start[i].hive; j-- {
			if b := &p.start[j]; b.off < day {
				b.off = day
				b.setDue(&p.days, &p.rules)
				moved = append(moved, b)
			}
		}
		break
	}
	return moved
}
