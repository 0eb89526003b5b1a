package scheduler

import "slices"

// nearDays is how many days before or after its day an opening may be recorded
// and still belong to a visit; a visit with none counts as missed after them.
const nearDays = 2

// reviveDays is how long a missed visit becomes done when its openings are
// written down after all.
const reviveDays = 30

// recorded is what the recorded visits of one apiary come to on a day.
type recorded struct {
	open    []Visit // still to come, by day
	past    []Visit // newly done or missed
	fixed   []fixedVisit
	pending Date // the latest visit that may still turn out done; zero for none
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
// which still stand. A visit is done when a box of the apiary was opened within
// nearDays of it and either its day is past or no box of it is left; it is
// missed when nearDays have passed without one. Until then it is left as it is.
func (s *recorded) sort(visits []Visit, apiary int64, boxes []boxDue, today Date) {
	s.open, s.past, s.fixed, s.pending = s.open[:0], s.past[:0], s.fixed[:0], 0
	for i := range visits {
		v := visits[i]
		if v.ApiaryID != apiary {
			continue
		}
		if v.Status == Missed && v.On >= today-reviveDays && openedNear(boxes, v.On, nearDays) {
			s.end(v, Done)
			continue
		}
		if !v.Status.Open() {
			continue
		}
		opened := v.On <= today+nearDays && openedNear(boxes, v.On, nearDays)
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
		inHand := v.On == today && openedNear(boxes, today, 0)
		if v.On <= today+HorizonDays && (v.Pinned || len(v.NotBoxes) > 0 || inHand) {
			s.fixed = append(s.fixed, fixedVisit{day: int32(v.On - today), old: i})
		}
	}
}

func (s *recorded) end(v Visit, status VisitStatus) {
	v.Status = status
	v.Sequence++
	s.past = append(s.past, v)
}
