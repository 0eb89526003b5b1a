package scheduler

import "slices"

// nearDays is how many days before or after its day an opening may be recorded
// and still belong to a visit.
const nearDays = 2

// reviveDays is how long a missed visit becomes done when its openings are
// written down after all.
const reviveDays = 30

// recorded is what the recorded visits of one apiary come to on a day.
type recorded struct {
	open       []Visit // still to come, by day
	past       []Visit // newly unanswered, done or missed
	fixed      []fixedVisit
	unanswered []Visit // whose day is over, and about which nobody has said a word yet
	calledOff  []Visit // cancelled by a person until a day that is still to come
	refused    []refusal
	history    []*Visit // done or missed, newly too
}

// openedNear reports whether any box of the apiary was opened within some days
// of a day.
func openedNear(boxes []boxDue, on Date, within int32) bool {
	for i := range boxes {
		if boxes[i].box.openedWithin(within, on) {
			return true
		}
	}
	return false
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

// sort sorts the recorded visits of an apiary: which are over, and how, and
// which still stand. A visit is done when an opening within nearDays of it belongs
// to it (see foundOn) and either its day is past or no box of it is left. When its
// day passes without a word it is unanswered, and after answerDays missed.
func (s *recorded) sort(visits []Visit, apiary int64, boxes []boxDue, today Date, answerDays int) {
	s.open, s.past, s.fixed = s.open[:0], s.past[:0], s.fixed[:0]
	s.unanswered, s.calledOff, s.refused, s.history = s.unanswered[:0], s.calledOff[:0], s.refused[:0], s.history[:0]
	for i := range visits {
		if v := &visits[i]; v.ApiaryID == apiary {
			ended := len(s.past)
			s.add(v, visits, boxes, today, Date(answerDays))
			if len(s.past) == ended && v.Status.cameTo() {
				s.history = append(s.history, v)
			}
		}
	}
	for i := range s.past {
		if v := &s.past[i]; v.Status.cameTo() {
			s.history = append(s.history, v)
		}
	}
	slices.SortStableFunc(s.open, func(a, b Visit) int { return int(a.On - b.On) })
	for i := range s.open {
		v := &s.open[i]
		inHand := v.On == today && (len(v.Returned) > 0 || openedNear(boxes, today, 0))
		if v.On <= today+HorizonDays && (v.staysPut() || inHand) {
			s.fixed = append(s.fixed, fixedVisit{day: int32(v.On - today), old: i, kept: true})
		}
	}
}

// add files one visit.
func (s *recorded) add(was *Visit, visits []Visit, boxes []boxDue, today, answerDays Date) {
	v := *was
	for _, id := range v.Returned {
		v.Boxes = append(slices.Clip(v.Boxes), VisitBox{BoxID: id})
	}
	for _, id := range v.Refused {
		s.refused = append(s.refused, refusal{id, v.On})
	}
	lately := v.On <= today+nearDays && (v.Status.Open() || v.Status == Unanswered || v.On >= today-reviveDays)
	if lately && v.May(VisitFound) {
		found, all := v.withFound(foundOn(was, visits, boxes), boxes)
		over := v.On < today || len(v.Boxes) > 0 && !leftOver(boxes, &v)
		if found && over && (v.Status != Done || len(all) > len(v.Boxes)) {
			v.Boxes = all
			s.end(v, VisitFound)
			return
		}
	}
	waiting := v.On >= today-answerDays
	switch {
	case v.Status == Cancelled && v.OffUntil > today:
		s.calledOff = append(s.calledOff, v)
	case v.Status == Unanswered && waiting:
		s.unanswered = append(s.unanswered, v)
	case v.Status == Unanswered:
		s.end(v, VisitGivenUp)
	case v.Status.Open() && v.On >= today:
		s.open = append(s.open, v)
	case v.Status.Open() && waiting:
		s.end(v, VisitDayOver)
		s.unanswered = append(s.unanswered, s.past[len(s.past)-1])
	case v.Status.Open(): // nobody planned for a long time
		v.happen(VisitDayOver)
		s.end(v, VisitGivenUp)
	}
}

// end lets an event that ends a visit's day happen.
func (s *recorded) end(v Visit, e VisitEvent) {
	v.happen(e)
	s.past = append(s.past, v)
}
