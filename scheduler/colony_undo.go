package scheduler

import (
	"slices"
)

// MayUndo says what speaks against taking back an event of a hive; nil for nothing.
// c must hold what Happen asks for.
func (c *Club) MayUndo(hive int64, id string) error {
	_, h := c.HiveByID(hive)
	if h == nil || h.Event(id) == nil {
		return refuse("", "undone")
	}
	e := h.Event(id)
	if e.What == Swarmed || e.What == Requeened {
		return nil // nothing else hangs on them
	}
	if later, of := c.eventAfter(h, e); later != nil {
		return refuse("", "undo-later", of.Name, later.What, day(later.On))
	}
	boxes := c.boxesByID()
	for _, went := range e.Boxes {
		b := boxes[went.BoxID]
		if b == nil || !e.leftAt(b) {
			return refuse("", "undo-moved", nameOf(b))
		}
		if h.hasMark(b.Name) {
			return refuse("", "undo-mark", h.Name, b.Name)
		}
		for _, o := range b.Openings[min(went.Openings, len(b.Openings)):] {
			if o.On > e.On {
				return refuse("", "undo-opened", b.Name, day(o.On))
			}
		}
	}
	switch e.What {
	case Split:
		return c.maySplitBack(h, e)
	case Moved:
		if a := c.Apiary(e.FromApiary); a == nil || a.hiveNamed(h.Name) {
			return refuse("", "undo-name", h.Name)
		}
	}
	return nil
}

func nameOf(b *Box) string {
	if b == nil {
		return "?"
	}
	return b.Name
}

// eventAfter returns an event after e in which one of its hives had a part, with the
// hive that it is noted at.
func (c *Club) eventAfter(h *Hive, e *ColonyEvent) (*ColonyEvent, *Hive) {
	at := slices.IndexFunc(h.Events, func(x ColonyEvent) bool { return x.ID == e.ID })
	if at+1 < len(h.Events) {
		return &h.Events[len(h.Events)-1], h
	}
	for _, id := range []int64{h.ID, e.OtherID} {
		if last, of := c.lastEvent(id); last != nil && last.On > e.On {
			return last, of
		}
	}
	return nil, nil
}

// leftAt reports whether a box is still where e took it.
func (e *ColonyEvent) leftAt(b *Box) bool {
	if len(b.Places) < 2 {
		return false
	}
	switch at := b.Places[len(b.Places)-1]; {
	case at.From != e.On:
		return false
	case e.What == Split:
		return at.HiveID == e.OtherID
	case e.What == United:
		return at.HiveID == e.OtherID || at.Where == InStore
	default:
		return at.Where == InStore || at.Where == Retired
	}
}

// maySplitBack asks whether the hive that a split made has nothing of its own.
func (c *Club) maySplitBack(h *Hive, e *ColonyEvent) error {
	_, other := c.HiveByID(e.OtherID)
	if other == nil {
		return refuse("", "undone")
	}
	went := func(id int64) bool {
		return slices.ContainsFunc(e.Boxes, func(b EventBox) bool { return b.BoxID == id })
	}
	for _, b := range c.boxesByID() {
		on := slices.ContainsFunc(b.Places, func(p BoxPlace) bool { return p.HiveID == other.ID })
		if !went(b.ID) && (on || other.Box(b.ID) != nil) {
			return refuse("", "undo-used", other.Name, b.Name)
		}
	}
	alone := len(other.LeaveAlone)
	if slices.Contains(e.aloneHives(h.ID), other.ID) && slices.Contains(other.LeaveAlone, e.Alone) {
		alone--
	}
	if alone > 0 || len(other.Requeened) > 0 || other.RetiredOn != 0 {
		return refuse("", "undo-changed", other.Name)
	}
	return nil
}

func (c *Club) boxesByID() map[int64]*Box {
	all := map[int64]*Box{}
	for i := range c.Apiaries {
		for j := range c.Apiaries[i].Hives {
			for k := range c.Apiaries[i].Hives[j].Boxes {
				b := &c.Apiaries[i].Hives[j].Boxes[k]
				all[b.ID] = b
			}
		}
	}
	for i := range c.Spare {
		all[c.Spare[i].ID] = &c.Spare[i]
	}
	return all
}

// Undo takes an event of a hive back and returns it: the records are as if it had never
// been noted. A *ColonyRefusal, as by MayUndo, leaves c as it was.
func (c *Club) Undo(hive int64, id string) (*ColonyEvent, error) {
	if err := c.MayUndo(hive, id); err != nil {
		return nil, err
	}
	a, h := c.HiveByID(hive)
	e := *h.Event(id)
	for _, id := range e.aloneHives(h.ID) {
		if _, alone := c.HiveByID(id); alone != nil {
			alone.LeaveAlone = withoutPeriod(alone.LeaveAlone, e.Alone)
		}
	}
	if h.Events = slices.DeleteFunc(slices.Clone(h.Events), func(x ColonyEvent) bool { return x.ID == id }); len(h.Events) == 0 {
		h.Events = nil
	}
	if e.Ended {
		h.RetiredOn = 0
	}
	for _, went := range e.Boxes { // from the bottom up
		c.carryBack(h, went)
	}
	switch e.What {
	case Split:
		at, _ := c.HiveByID(e.OtherID)
		at.Hives = slices.DeleteFunc(slices.Clone(at.Hives), func(x Hive) bool { return x.ID == e.OtherID })
	case United:
		if _, other := c.HiveByID(e.OtherID); e.Under != nil && sameIDs(idsOf(other.Boxes), e.Under) {
			other.order(e.Under)
		}
	case Moved:
		c.moveHive(a, h, e.FromApiary)
	}
	return &e, nil
}

// withoutPeriod takes the last of some periods that is p out of them, if there is one.
func withoutPeriod(periods []Period, p Period) []Period {
	for i, x := range slices.Backward(periods) {
		if x != p {
			continue
		}
		if len(periods) == 1 {
			return nil
		}
		return slices.Delete(slices.Clone(periods), i, i+1)
	}
	return periods
}

// carryBack puts a box back on the hive that it went from.
func (c *Club) carryBack(h *Hive, went EventBox) {
	b := *c.boxesByID()[went.BoxID]
	c.Spare = withoutBox(c.Spare, b.ID)
	for i := range c.Apiaries {
		for j := range c.Apiaries[i].Hives {
			other := &c.Apiaries[i].Hives[j]
			other.Boxes = withoutBox(other.Boxes, b.ID)
		}
	}
	b.RetiredOn = 0
	if b.Places = slices.Clone(b.Places[:len(b.Places)-1]); !went.Listed {
		b.Places = nil
	}
	h.Boxes = slices.Insert(slices.Clone(h.Boxes), min(went.Position-1, len(h.Boxes)), b)
}

// withoutBox takes a box out of a list; a list without any is nil.
func withoutBox(boxes []Box, id int64) []Box {
	at := slices.IndexFunc(boxes, func(b Box) bool { return b.ID == id })
	switch {
	case at < 0:
		return boxes
	case len(boxes) == 1:
		return nil
	}
	return slices.Delete(slices.Clone(boxes), at, at+1)
}
