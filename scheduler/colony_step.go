package scheduler

import (
	"cmp"
	"slices"

	"pryday/scheduler/text"
)

// BoxesGo says what becomes of the boxes of a colony that died or was sold.
type BoxesGo string

// What becomes of them.
const (
	BoxesStay  BoxesGo = "stay"  // where they stand, without bees
	BoxesStore BoxesGo = "store" // into the store; the hive ends
	BoxesAlong BoxesGo = "along" // with the colony that was sold; the hive ends
)

// ColonyStep is what somebody says has happened to the colony of a hive.
type ColonyStep struct {
	ID         string // of the event to come
	HiveID     int64
	What       Fate
	On         Date
	OtherID    int64   // a union: the hive that takes the boxes in; a split: the id of the new one
	ApiaryID   int64   // a move, a split: where to
	Name       string  // a split: of the new hive
	Queen      Queen   // a split, a union
	Boxes      []int64 // a split: those that go; a union: those that go on the other hive. The others of a union go into the store
	Order      []int64 // a union: the stack of the other hive afterwards, from the bottom up
	Rest       BoxesGo // died, sold
	AloneUntil Date    // leave-alone days from On on; 0 for none
	Whom, Note string
	By         int64
}

// mostAhead is for how many days ahead a new colony may be noted.
const mostAhead = 200

// Happen enters in the records of c what somebody says has happened, and returns the
// event. c must hold the apiaries that it touches, with all that share boxes with them,
// and every opening. A *ColonyRefusal leaves c as it was.
func (c *Club) Happen(s *ColonyStep, today Date) (*ColonyEvent, error) {
	a, h := c.HiveByID(s.HiveID)
	if h == nil {
		return nil, refuse("", "no-hive")
	}
	if err := s.check(c, a, h, today); err != nil {
		return nil, err
	}
	e := ColonyEvent{
		ID: s.ID, On: s.On, What: s.What, OtherID: s.OtherID, Queen: s.Queen,
		Whom: s.Whom, Note: s.Note, By: s.By,
	}
	if s.AloneUntil != 0 {
		e.Alone = Period{From: s.On, Until: s.AloneUntil, After: s.What}
	}
	switch s.What {
	case Split:
		to := c.Apiary(s.ApiaryID)
		to.addHive(Hive{ID: s.OtherID, Name: s.Name, BeeSpace: h.BeeSpace})
		_, h = c.HiveByID(s.HiveID) // the list of hives may have grown
		_, other := c.HiveByID(s.OtherID)
		for _, b := range slices.Clone(h.Boxes) {
			if has(s.Boxes, b.ID) {
				c.carry(&e, h, b.ID, BoxPlace{From: s.On, Where: OnHive, HiveID: other.ID, Position: len(other.Boxes) + 1})
			}
		}
	case United:
		c.unite(&e, h, s)
	case Moved:
		e.FromApiary = a.ID
		h = c.moveHive(a, h, s.ApiaryID)
	case Died, Sold:
		where := map[BoxesGo]Where{BoxesStore: InStore, BoxesAlong: Retired}[s.Rest]
		for _, b := range slices.Clone(h.Boxes) {
			if where != "" {
				c.carry(&e, h, b.ID, BoxPlace{From: s.On, Where: where})
			}
		}
		e.Ended = where != ""
	}
	if e.Ended {
		h.RetiredOn = s.On
	}
	for _, id := range e.aloneHives(h.ID) {
		_, alone := c.HiveByID(id)
		alone.LeaveAlone = append(slices.Clone(alone.LeaveAlone), e.Alone)
		slices.SortStableFunc(alone.LeaveAlone, func(a, b Period) int { return int(a.From - b.From) })
	}
	h.Events = append(slices.Clone(h.Events), e)
	sortEvents(h.Events)
	return h.Event(e.ID), nil
}

// sortEvents puts events in the order of their days, those of one day as they were noted.
func sortEvents(events []ColonyEvent) {
	slices.SortStableFunc(events, func(a, b ColonyEvent) int { return int(a.On - b.On) })
}

// unite puts the boxes of a hive on another, or into the store, and ends it.
func (c *Club) unite(e *ColonyEvent, h *Hive, s *ColonyStep) {
	_, other := c.HiveByID(s.OtherID)
	under := idsOf(other.Boxes)
	if !slices.Equal(under, s.Order[:min(len(under), len(s.Order))]) {
		e.Under = under
	}
	for _, b := range slices.Clone(h.Boxes) {
		to := BoxPlace{From: s.On, Where: InStore}
		if at := slices.Index(s.Order, b.ID); at >= 0 {
			to = BoxPlace{From: s.On, Where: OnHive, HiveID: other.ID, Position: at + 1}
		}
		c.carry(e, h, b.ID, to)
	}
	other.order(s.Order)
	e.Ended = true
}

// carry takes a box of a hive to a place, on top of the stack there, and notes it in e.
func (c *Club) carry(e *ColonyEvent, h *Hive, box int64, to BoxPlace) {
	at := slices.IndexFunc(h.Boxes, func(b Box) bool { return b.ID == box })
	b := h.Boxes[at]
	position := at + 1
	for _, gone := range e.Boxes { // of those that went before it, from the bottom up
		if gone.Position <= position {
			position++
		}
	}
	e.Boxes = append(e.Boxes, EventBox{BoxID: b.ID, Position: position, Listed: len(b.Places) > 0, Openings: len(b.Openings)})
	h.Boxes = slices.Delete(slices.Clone(h.Boxes), at, at+1)
	b.Places = append(b.placesOn(h.ID, position), to)
	switch to.Where {
	case OnHive:
		_, other := c.HiveByID(to.HiveID)
		other.Boxes = append(slices.Clone(other.Boxes), b)
	case Retired:
		b.RetiredOn = to.From
		c.addSpare(b)
	default:
		c.addSpare(b)
	}
}

// placesOn are the places of a box that stands on a hive, also if none are noted.
func (b *Box) placesOn(hive int64, position int) []BoxPlace {
	if len(b.Places) > 0 {
		return slices.Clone(b.Places)
	}
	return []BoxPlace{{From: b.SetUpOn, Where: OnHive, HiveID: hive, Position: position}}
}

// addSpare keeps the boxes on no hive in the order of their ids.
func (c *Club) addSpare(b Box) {
	at, _ := slices.BinarySearchFunc(c.Spare, b, func(x, y Box) int { return cmp.Compare(x.ID, y.ID) })
	c.Spare = slices.Insert(slices.Clone(c.Spare), at, b)
}

// addHive keeps the hives of an apiary in the order of their ids.
func (a *Apiary) addHive(h Hive) {
	at, _ := slices.BinarySearchFunc(a.Hives, h, func(x, y Hive) int { return cmp.Compare(x.ID, y.ID) })
	a.Hives = slices.Insert(slices.Clone(a.Hives), at, h)
}

// moveHive takes a hive to another apiary and returns it there.
func (c *Club) moveHive(from *Apiary, h *Hive, apiary int64) *Hive {
	moved, to := *h, c.Apiary(apiary)
	from.Hives = slices.DeleteFunc(slices.Clone(from.Hives), func(x Hive) bool { return x.ID == moved.ID })
	to.addHive(moved)
	return to.Hive(moved.ID)
}

// order puts the boxes of a hive in an order; boxes that it does not name come on top.
func (h *Hive) order(ids []int64) {
	boxes := slices.Clone(h.Boxes)
	place := func(b Box) int {
		if at := slices.Index(ids, b.ID); at >= 0 {
			return at
		}
		return len(ids)
	}
	slices.SortStableFunc(boxes, func(a, b Box) int { return place(a) - place(b) })
	h.Boxes = boxes
}

func idsOf(boxes []Box) []int64 {
	var ids []int64
	for i := range boxes {
		ids = append(ids, boxes[i].ID)
	}
	return ids
}

// firstDay is the first day that the records tell of a hive; 0 for one without boxes.
func (h *Hive) firstDay() Date {
	first := Date(0)
	for i := range h.Boxes {
		b := &h.Boxes[i]
		from := b.SetUpOn
		if len(b.Places) > 0 {
			at := slices.IndexFunc(b.Places, func(p BoxPlace) bool { return p.HiveID == h.ID })
			from = b.Places[max(at, 0)].From
		}
		if from != 0 && (first == 0 || from < first) {
			first = from
		}
	}
	return first
}

// day is a day for a text.
func day(d Date) any { return text.Full(d) }
