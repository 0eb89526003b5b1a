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
		if p.near(f.day) {
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

// near reports whether a day is so soon that who goes then finds what they were
// told of.
func (p *projection) near(day int32) bool { return day < max(p.floor, p.rules.soonest()) }

// togetherOn reports whether b is kept on a visit of a day with all that is on it.
func (p *projection) togetherOn(b *boxDue, day int32) bool { return p.near(day) && inTime(b, day) }

// inTime reports whether the rules let b wait until a day, or it is too late anyway.
func inTime(b *boxDue, day int32) bool { return day <= b.latest || b.latest < 0 }

// pastDue reports whether a day is so little past the one on which b is due that
// a person may have meant it.
func pastDue(b *boxDue, day int32) bool { return day > b.due && day <= b.due+maxShiftDays }

// keepTogether keeps the boxes of a visit that nothing else binds on its day, unless
// that is past what the rules allow them.
func (p *projection) keepTogether(v *Visit, day int32) {
	for _, vb := range v.Boxes {
		for i := range p.start {
			b := &p.start[i]
			if b.box.ID == vb.BoxID && b.kept == -noDay && b.off < day && inTime(b, day) {
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
		if !pastDue(b, day) || shift(was, b.ruled) > maxShiftDays {
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

// askAsPlanned keeps boxes on the visits that people put on their days as the next
// plan would, which finds them as they are planned now, and reports whether
// that is something else.
func (p *projection) askAsPlanned(asked []boxDue) (changed bool) {
	for i := range asked {
		b := &asked[i]
		day := int32(-noDay)
		if v := p.nextOpening(int32(i)); v != nil && v.kept && b.off < v.day && (p.togetherOn(b, v.day) || pastDue(b, v.day)) {
			day = v.day
		}
		if b.kept != day {
			b.kept, changed = day, true
		}
	}
	return changed
}

// nextOpening returns the first planned visit that opens a box, or nil.
func (p *projection) nextOpening(box int32) *planned {
	for i := range p.visits {
		if slices.ContainsFunc(p.visits[i].boxes, func(b plannedBox) bool { return b.box == box }) {
			return &p.visits[i]
		}
	}
	return nil
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
