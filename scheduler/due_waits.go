package scheduler

// BroodBoxes is how many boxes of a stack, from the bottom, hold brood and are
// never full of honey; common practice, no source. The others are full in the
// flow.
const BroodBoxes = 2

// fullFrom counts the boxes of h that are full in the flow among the i-th and
// those above it, as the stack stands today.
func (h *Hive) fullFrom(i int, today Date) int32 {
	level, full := 0, int32(0)
	for j := range h.Boxes {
		b := &h.Boxes[j]
		if over(b.RetiredOn, today) || b.SetUpOn > today {
			continue
		}
		if j >= i && level >= BroodBoxes {
			full++
		}
		level++
	}
	return full
}

// addFull adds the boxes of h that are full in the flow.
func (h *Hive) addFull(full map[int64]bool, today Date) {
	for i := range h.Boxes {
		if h.fullFrom(i, today) > h.fullFrom(i+1, today) {
			full[h.Boxes[i].ID] = true
		}
	}
}

// inFlow reports whether d lies in a flow that ends.
func (s *Season) inFlow(d Date) bool { return s.n > 1 && s.Stage(d) == Flow }

// waitOut lets a box that only its odds make due wait for better days: past the
// first ones after winter, when it is cold, and past the flow where what comes
// off for it is heavy. Neither outlasts a hard limit that can still be kept.
func (b *boxDue) waitOut(y *days, r *dueRules) {
	if b.due >= noDay {
		return
	}
	soonest := max(b.earliest, int32(r.LeadDays))
	now := y.openableBy(int(b.hive), max(b.due, soonest), soonest)
	if day := y.pastSpring(now, int32(r.SpringDays)); day > now {
		b.waitUntil(y, day, ClosedSpring, y.pastSpring(b.due, int32(r.SpringDays)) == b.due)
	} else if day := y.harvest(now); day > now && b.heavy(y, r, now, day) {
		b.waitUntil(y, day, ClosedHarvest, false)
	}
}

// waitUntil puts the box off to the first day from day on, if no hard limit falls
// before that. One that is overdue since before what it waits out remains so.
func (b *boxDue) waitUntil(y *days, day int32, why Closing, overdue bool) {
	asked := day
	day = y.openableBy(int(b.hive), day, day)
	if day > asked+graceDays {
		return // the better days are shut as well
	}
	if b.hard < day && b.hard >= max(b.earliest, 0) {
		return
	}
	b.earliest, b.putOff = max(b.earliest, day), true
	if !overdue {
		b.due, b.waits = max(b.due, day), why
	}
}

// heavy reports whether opening the box on a day of the flow costs more than the
// prying that it grows by until the harvest, when full boxes come off anyway. That
// those above it would be opened early is no loss: they start anew.
func (b *boxDue) heavy(y *days, r *dueRules, day, harvest int32) bool {
	if b.full == 0 || r.Hours.Lift == 0 {
		return false
	}
	return b.pryingOn(y, r, harvest)-b.pryingOn(y, r, day) < float64(b.full)*r.Hours.Lift
}

// pastSpring returns the first day from k on that is not one of the first days
// of a build-up.
func (y *days) pastSpring(k, first int32) int32 {
	if sp := y.spanOf(k); sp != nil && sp.stage == BuildUp {
		return max(k, min(int32(sp.first-y.today)+first, int32(sp.last-y.today)+1))
	}
	return k
}

// harvest returns the day on which the flow that day k lies in has ended, or k
// where it lies in none. Where one stage lasts all year there is no harvest to
// wait for.
func (y *days) harvest(k int32) int32 {
	if sp := y.spanOf(k); sp != nil && sp.stage == Flow {
		return int32(sp.last-y.today) + 1
	}
	return k
}

// spanOf returns the stage that day k lies in, or nil where one lasts all year
// or the calendar does not reach.
func (y *days) spanOf(k int32) *stageSpan {
	if y.season.n == 1 {
		return nil
	}
	for i := range y.spans {
		if sp := &y.spans[i]; sp.first <= y.today+Date(k) && y.today+Date(k) <= sp.last {
			return sp
		}
	}
	return nil
}
