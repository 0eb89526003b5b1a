package scheduler

import (
	"cmp"
	"slices"
	"strings"
)

// check says what speaks against a step.
func (s *ColonyStep) check(c *Club, a *Apiary, h *Hive, today Date) error {
	return cmp.Or(s.checkDay(c, h, today), s.checkBees(h), s.checkAlone(), s.checkWhere(c, a, h), s.checkCarried(c, a, h))
}

// checkDay holds the day of a step against today, the hive and what happened to it since.
func (s *ColonyStep) checkDay(c *Club, h *Hive, today Date) error {
	last := today
	if s.What == NewColony {
		last += mostAhead
	}
	switch first := h.firstDay(); {
	case s.On == 0:
		return refuse("on", "no-day")
	case s.On > last && s.What == NewColony:
		return refuse("on", "too-far", day(s.On), mostAhead)
	case s.On > last:
		return refuse("on", "to-come", day(s.On))
	case s.On < max(first, MinDate):
		return refuse("on", "before-hive", day(s.On), h.Name, day(max(first, MinDate)))
	case over(h.RetiredOn, MaxDate):
		return refuse("", "hive-ended", h.Name, day(h.RetiredOn))
	}
	if s.What == Swarmed || s.What == Requeened {
		return nil // nothing else hangs on them
	}
	for _, id := range []int64{h.ID, s.OtherID} {
		if e, of := c.lastEvent(id); e != nil && s.On < e.On {
			return refuse("on", "before-event", day(s.On), of.Name, e.What, day(e.On))
		}
	}
	return nil
}

// lastEvent returns the last event that a hive had a part in, with the hive that it is
// noted at; nils for none.
func (c *Club) lastEvent(hive int64) (last *ColonyEvent, of *Hive) {
	for i := range c.Apiaries {
		for j := range c.Apiaries[i].Hives {
			h := &c.Apiaries[i].Hives[j]
			for k := range h.Events {
				if e := &h.Events[k]; (h.ID == hive || e.OtherID == hive) && hive != 0 && (last == nil || e.On >= last.On) {
					last, of = e, h
				}
			}
		}
	}
	return last, of
}

// checkBees asks for bees in a hive, or for none before a new colony comes.
func (s *ColonyStep) checkBees(h *Hive) error {
	gone, back, without := h.WithoutBees(s.On)
	switch {
	case s.What != NewColony && without:
		return refuse("on", "no-bees", h.Name, day(gone))
	case s.What == NewColony && !without:
		return refuse("on", "has-bees", h.Name, day(s.On))
	case back != 0:
		return refuse("on", "coming", h.Name, day(back))
	}
	return nil
}

// mostAlone is for how many days an event may keep a hive shut.
const mostAlone = 120

func (s *ColonyStep) checkAlone() error {
	if s.AloneUntil != 0 && (s.AloneUntil < s.On || s.AloneUntil > s.On+mostAlone) {
		return refuse("alone", "alone-span", day(s.On), day(s.On+mostAlone))
	}
	return nil
}

// checkWhere asks for the places and hives that a step names.
func (s *ColonyStep) checkWhere(c *Club, a *Apiary, h *Hive) error {
	to := c.Apiary(s.ApiaryID)
	_, other := c.HiveByID(s.OtherID)
	switch s.What {
	case Split, Moved:
		name := h.Name
		if s.What == Split {
			name = s.Name
		}
		switch {
		case to == nil || s.What == Moved && to == a:
			return refuse("apiary", "no-apiary")
		case name == "":
			return refuse("name", "no-name")
		case to.hiveNamed(name):
			return refuse("name", "name-taken", to.Name, name)
		}
	case United:
		if other == nil || other == h {
			return refuse("other", "no-other")
		}
		if over(other.RetiredOn, MaxDate) {
			return refuse("other", "hive-ended", other.Name, day(other.RetiredOn))
		}
		if gone, _, without := other.WithoutBees(s.On); without {
			return refuse("other", "no-bees", other.Name, day(gone))
		}
		if first := other.firstDay(); s.On < first {
			return refuse("on", "before-hive", day(s.On), other.Name, day(first))
		}
	case Died, Sold:
		if s.Rest != BoxesStay && s.Rest != BoxesStore && (s.Rest != BoxesAlong || s.What == Died) {
			return refuse("rest", "no-rest")
		}
	}
	return nil
}

func (a *Apiary) hiveNamed(name string) bool {
	return slices.ContainsFunc(a.Hives, func(h Hive) bool { return h.Name == name })
}

// hasMark reports whether a box of the hive has a mark, in large letters or small.
func (h *Hive) hasMark(mark string) bool {
	return slices.ContainsFunc(h.Boxes, func(b Box) bool { return strings.EqualFold(b.Name, mark) })
}

// checkCarried holds the boxes that a step takes elsewhere against where they have been,
// and the places that they leave and reach against disease orders.
func (s *ColonyStep) checkCarried(c *Club, a *Apiary, h *Hive) error {
	carried, reaches := s.Boxes, a
	var other *Hive
	switch s.What {
	case Split:
		reaches = c.Apiary(s.ApiaryID)
		if len(carried) == 0 {
			return refuse("boxes", "no-boxes")
		}
		if len(carried) >= len(h.Boxes) {
			return refuse("boxes", "leave-one", h.Name)
		}
	case United:
		reaches, other = c.HiveByID(s.OtherID)
		if want := append(idsOf(other.Boxes), carried...); !sameIDs(want, s.Order) {
			return refuse("order", "order")
		}
		carried = idsOf(h.Boxes)
	case Moved:
		carried, reaches = idsOf(h.Boxes), c.Apiary(s.ApiaryID)
	case Died, Sold:
		if carried = idsOf(h.Boxes); s.Rest == BoxesStay {
			return nil
		}
	default:
		return nil
	}
	for _, id := range s.Boxes {
		if h.Box(id) == nil || countOf(s.Boxes, id) > 1 {
			return refuse("boxes", "not-there", h.Name)
		}
		if b := h.Box(id); other != nil && other.hasMark(b.Name) {
			return refuse("order", "mark-taken", other.Name, b.Name)
		}
	}
	for _, at := range []*Apiary{a, reaches} {
		for _, p := range at.Standstill {
			if p.Contains(s.On) {
				return refuse("on", "standstill", at.Name, day(s.On))
			}
		}
	}
	if s.What == Moved {
		return nil // its boxes stay on it
	}
	for _, id := range carried {
		b := h.Box(id)
		if from := b.placesOn(h.ID, 1); s.On < from[len(from)-1].From {
			return refuse("on", "box-newer", day(s.On), b.Name, h.Name, day(from[len(from)-1].From))
		}
	}
	return nil
}

func sameIDs(a, b []int64) bool {
	return slices.Equal(slices.Sorted(slices.Values(a)), slices.Sorted(slices.Values(b)))
}

func countOf(ids []int64, id int64) (n int) {
	for _, x := range ids {
		if x == id {
			n++
		}
	}
	return n
}
