package scheduler

import "slices"

// FoundOn returns the boxes of whose openings one belongs to a visit of c: on its day,
// or near it.
func FoundOn(c *Club, v *Visit) map[int64]bool {
	a := c.Apiary(v.ApiaryID)
	if a == nil {
		return nil
	}
	var boxes []boxDue
	for i := range a.Hives {
		for j := range a.Hives[i].Boxes {
			boxes = append(boxes, boxDue{box: &a.Hives[i].Boxes[j]})
		}
	}
	at := slices.IndexFunc(c.Visits, func(o Visit) bool { return o.ID == v.ID })
	if at < 0 {
		return nil
	}
	return foundOn(&c.Visits[at], c.Visits, boxes)
}

// foundOn returns the boxes of whose openings within nearDays of v one belongs to v
// and not to another visit as near: to the nearest of those that list the box;
// else, on a day on which listed boxes were opened, to the nearest of theirs; else
// to the nearest of all.
func foundOn(v *Visit, visits []Visit, boxes []boxDue) map[int64]bool {
	var found map[int64]bool
	for on := v.On - nearDays; on <= v.On+nearDays; on++ {
		if !openedNear(boxes, on, 0) {
			continue
		}
		listed := listedOn(visits, v.ApiaryID, boxes, on)
		for i := range boxes {
			if b := boxes[i].box; b.openedWithin(0, on) && ownerOf(visits, v.ApiaryID, b.ID, listed, on) == v {
				if found == nil {
					found = map[int64]bool{}
				}
				found[b.ID] = true
			}
		}
	}
	return found
}

// withFound returns whether any box was found opened, and the boxes of v with those
// that it does not list, which were written down one after the other or opened on
// the way: all in the order of the hands.
func (v *Visit) withFound(found map[int64]bool, boxes []boxDue) (bool, []VisitBox) {
	more := len(found)
	for _, b := range v.Boxes {
		if found[b.BoxID] {
			more--
		}
	}
	if more == 0 {
		return len(found) > 0, v.Boxes
	}
	listed := make(map[int64]VisitBox, len(v.Boxes))
	for _, b := range v.Boxes {
		listed[b.BoxID] = b
	}
	var all []VisitBox
	for begin := 0; begin < len(boxes); {
		end := begin
		for end < len(boxes) && boxes[end].hive == boxes[begin].hive {
			end++
		}
		for i := end - 1; i >= begin; i-- {
			id := boxes[i].box.ID
			b, ok := listed[id]
			if !ok && found[id] {
				b, ok = VisitBox{BoxID: id, Due: v.On, Reason: BecauseAbove}, true
			}
			if ok {
				all = append(all, b)
			}
			delete(listed, id)
		}
		begin = end
	}
	for _, b := range v.Boxes { // which stand there no more
		if _, ok := listed[b.BoxID]; ok {
			all = append(all, b)
		}
	}
	return true, all
}

// ownerOf returns the visit that the opening of a box on a day belongs to, or nil;
// listed is that of the other boxes opened on the day, if any.
func ownerOf(visits []Visit, apiary, boxID int64, listed *Visit, on Date) *Visit {
	if v := nearest(visits, apiary, on, func(v *Visit) bool { return v.Lists(boxID) }); v != nil {
		return v
	}
	if listed != nil {
		return listed
	}
	return nearest(visits, apiary, on, func(*Visit) bool { return true })
}

// listedOn returns the nearest visit that lists a box which was opened on a day,
// or nil.
func listedOn(visits []Visit, apiary int64, boxes []boxDue, on Date) *Visit {
	return nearest(visits, apiary, on, func(v *Visit) bool {
		return slices.ContainsFunc(boxes, func(b boxDue) bool {
			return v.Lists(b.box.ID) && b.box.openedWithin(0, on)
		})
	})
}

// nearest returns the visit to an apiary nearest to a day, within nearDays of it, of
// those for which something holds, or nil; of two the earlier. Cancelled ones have
// no openings.
func nearest(visits []Visit, apiary int64, on Date, holds func(*Visit) bool) *Visit {
	var best *Visit
	away := func(v *Visit) int32 { return shift(int32(v.On), int32(on)) }
	for i := range visits {
		v := &visits[i]
		if v.ApiaryID != apiary || v.Status == Cancelled || away(v) > nearDays || !holds(v) {
			continue
		}
		if best == nil || away(v) < away(best) || away(v) == away(best) && v.On < best.On {
			best = v
		}
	}
	return best
}
