package advice

import (
	"cmp"
	"slices"

	"pryday/scheduler"
)

// visitStack is one hive of an apiary as a visit finds it.
type visitStack struct {
	hive  *scheduler.Hive
	alone *scheduler.Period // why it is left alone on the day, or nil
	open  []*scheduler.Box  // to open, from the top down; none when it is left alone
	why   map[int64]scheduler.VisitBox
}

// lifted returns the boxes that come off: all that are opened but one that
// stands on the floor, whose frames come out where it is.
func (s *visitStack) lifted() []int64 {
	var ids []int64
	for _, b := range s.open {
		if b.ID != s.hive.Boxes[0].ID {
			ids = append(ids, b.ID)
		}
	}
	return ids
}

// visitStacks returns the hives of a visit's apiary, in record order, those
// whose brood looked wrong last. A box above one to open is opened too,
// whether the visit names it or not.
func visitStacks(c *scheduler.Club, v *scheduler.Visit) []visitStack {
	a := c.Apiary(v.ApiaryID)
	if a == nil {
		return nil
	}
	var out []visitStack
	for i := range a.Hives {
		h := &a.Hives[i]
		if h.RetiredOn != 0 && h.RetiredOn <= v.On {
			continue
		}
		s := visitStack{hive: h, why: map[int64]scheduler.VisitBox{}}
		for j := range h.LeaveAlone {
			if h.LeaveAlone[j].Contains(v.On) {
				s.alone = &h.LeaveAlone[j]
			}
		}
		for j := range h.Boxes {
			b := &h.Boxes[j]
			k := slices.IndexFunc(v.Boxes, func(vb scheduler.VisitBox) bool { return vb.BoxID == b.ID })
			switch {
			case s.alone != nil:
			case k >= 0:
				s.why[b.ID] = v.Boxes[k]
				s.open = append(s.open, b)
			case len(s.open) > 0:
				s.why[b.ID] = scheduler.VisitBox{BoxID: b.ID, Reason: scheduler.BecauseAbove}
				s.open = append(s.open, b)
			}
		}
		slices.Reverse(s.open)
		out = append(out, s)
	}
	slices.SortStableFunc(out, func(a, b visitStack) int {
		return cmp.Compare(suspected(a.hive, v.On), suspected(b.hive, v.On))
	})
	return out
}

// suspected returns 1 when the brood of a hive looked wrong at the last
// opening of one of its boxes, else 0. Such a hive is opened last, since
// hands and tools carry disease on.
func suspected(h *scheduler.Hive, before scheduler.Date) int {
	for i := range h.Boxes {
		if o, ok := h.Boxes[i].LastOpening(before); ok && slices.Contains(o.Condition, scheduler.BroodSuspect) {
			return 1
		}
	}
	return 0
}
