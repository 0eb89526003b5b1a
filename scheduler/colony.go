package scheduler

import (
	"slices"

	"pryday/scheduler/text"
)

// Fate is a kind of thing that happens to the colony of a hive.
type Fate string

// What happens to colonies.
const (
	Swarmed   Fate = "swarmed"
	Died      Fate = "died"
	Requeened Fate = "requeened"
	Split     Fate = "split"      // boxes went to a new hive, with bees
	United    Fate = "united"     // its boxes went on another hive, and it ended
	Sold      Fate = "sold"       // or given away
	Moved     Fate = "moved"      // to another apiary
	NewColony Fate = "new-colony" // came into a hive without bees
)

// Fates lists them in the order in which they are offered.
var Fates = []Fate{Swarmed, Requeened, Split, United, Moved, Sold, Died, NewColony}

// WordKey returns the key of the word for it: "fate.died".
func (f Fate) WordKey() string { return "fate." + string(f) }

// Queen says where the old queen is after a split or with boxes that are united.
type Queen string

// Where the old queen is.
const (
	QueenUnknown Queen = "unknown"
	QueenStays   Queen = "stays" // of a union: the queen of the other hive remains
	QueenGoes    Queen = "goes"  // with the boxes
)

// ColonyEvent is what happened to the colony of a hive on a day. The boxes, hives and
// leave-alone days of the records are as it left them; beside what happened it holds
// what taking it back needs.
type ColonyEvent struct {
	ID         string // a UUID, given by whoever recorded it
	On         Date   // of a new colony it may be to come
	What       Fate
	OtherID    int64 // the hive that a split made, or that took the boxes in; 0 for none
	FromApiary int64 // where a moved hive stood
	Queen      Queen // of a split or a union
	Boxes      []EventBox
	Under      []int64 // the stack of the other hive before boxes came between or below it, from the bottom up
	Alone      Period  // leave-alone days that it brought; From 0 for none
	Ended      bool    // the hive ended with it
	Whom       string  // sold to
	Note       string
	By         int64 // member who noted it; 0 when not known
}

// EventBox is a box that went elsewhere with an event.
type EventBox struct {
	BoxID    int64
	Position int  // in the stack before, 1 the lowest
	Listed   bool // it had places of its own before
	Openings int  // that stood recorded when it went
}

// WithoutBees reports whether no colony lives in a hive on a day, and since when and
// until when that is so; back is 0 when nobody knows of a new one.
func (h *Hive) WithoutBees(d Date) (gone, back Date, without bool) {
	for i := range h.Events {
		e := &h.Events[i]
		switch {
		case e.leaves() && e.On <= d:
			gone, back, without = e.On, 0, true
		case e.What == NewColony && without && e.On <= d:
			gone, back, without = 0, 0, false
		case e.What == NewColony && without && back == 0:
			back = e.On
		}
	}
	return gone, back, without
}

// bare reports whether a hive has no bees on a day and no new colony is expected.
func (h *Hive) bare(d Date) bool {
	if h == nil {
		return false
	}
	_, back, without := h.WithoutBees(d)
	return without && back == 0
}

// leaves reports whether the hive has no bees after e.
func (e *ColonyEvent) leaves() bool { return e.What == Died || e.What == Sold }

// Event returns an event of a hive by its id, or nil.
func (h *Hive) Event(id string) *ColonyEvent {
	if at := slices.IndexFunc(h.Events, func(e ColonyEvent) bool { return e.ID == id }); at >= 0 {
		return &h.Events[at]
	}
	return nil
}

// aloneHives are the hives that the leave-alone days of e are of.
func (e *ColonyEvent) aloneHives(hive int64) []int64 {
	switch {
	case e.Alone.From == 0:
		return nil
	case e.What == Split && e.Queen == QueenGoes, e.What != Split && e.What != United:
		return []int64{hive}
	case e.What == United, e.Queen == QueenStays:
		return []int64{e.OtherID}
	}
	return []int64{hive, e.OtherID}
}

// ColonyRefusal is why something cannot have happened to a colony as it was said, or
// cannot be taken back.
type ColonyRefusal struct {
	Field string // of the form: on, boxes, name, apiary, other, order; empty for none
	Text  text.Text
}

// Error says it in English, for logs.
func (r *ColonyRefusal) Error() string { return (&text.Speaker{}).Tell(r.Text) }

func refuse(field, key string, args ...any) error {
	return &ColonyRefusal{field, text.New("colony."+key, args...)}
}

// HiveByID returns a hive of a club by its id, with its apiary, or nils.
func (c *Club) HiveByID(id int64) (*Apiary, *Hive) {
	for i := range c.Apiaries {
		if h := c.Apiaries[i].Hive(id); h != nil {
			return &c.Apiaries[i], h
		}
	}
	return nil, nil
}
