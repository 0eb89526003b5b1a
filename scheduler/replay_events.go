package scheduler

import (
	"cmp"
	"slices"
)

// happening is a kind of event, in the order in which events of one day count.
type happening int8

const (
	boxOpened happening = iota
	boxPlaced
	boxRepaired
	hiveRequeened
	colonyBefell
)

// event is one thing that happened on one day.
type event struct {
	on       Date
	what     happening
	hive     int32 // where it stood in the morning, or is put; none for none
	position int32 // in that hive's stack
	boxID    int64
	box      int32 // in replay.boxes
	ref      int32 // in Box.Openings, or in Hive.Events
	order    int32 // of those of one box
}

// history returns, in order, what happened up to and including until to the
// wanted hives and their boxes; all when wanted is nil.
func (r *replay) history(until Date, wanted []bool) []event {
	n := 0
	for i := range r.boxes {
		n += len(r.boxes[i].box.Openings) + len(r.boxes[i].places) + len(r.boxes[i].box.Repaired)
	}
	events := make([]event, 0, n+8)
	var order []int32
	for i := range r.boxes {
		if b := &r.boxes[i]; b.stoodOn(wanted) {
			order = decisive(b.box.Openings, order[:0])
			b.begin(order, until)
			r.beginUsed(b, order, until)
			events = b.history(events, int32(i), order, until)
		}
	}
	for i := range r.hives {
		if h := r.hives[i].hive; h != nil && (wanted == nil || wanted[i]) {
			for _, on := range h.Requeened {
				if on <= until {
					events = append(events, event{on: on, what: hiveRequeened, hive: int32(i)})
				}
			}
			for k := range h.Events {
				if on := h.Events[k].On; on <= until {
					events = append(events, event{on: on, what: colonyBefell, hive: int32(i), ref: int32(k), order: int32(k)})
				}
			}
		}
	}
	slices.SortFunc(events, func(a, b event) int {
		if a.on != b.on {
			return int(a.on - b.on)
		}
		if a.what != b.what || a.what != boxOpened {
			return cmp.Or(cmp.Compare(a.what, b.what), cmp.Compare(a.boxID, b.boxID), cmp.Compare(a.order, b.order), cmp.Compare(a.hive, b.hive))
		}
		return cmp.Or(
			cmp.Compare(a.hive, b.hive),
			cmp.Compare(b.position, a.position), // from the top
			cmp.Compare(a.boxID, b.boxID),
			cmp.Compare(a.order, b.order))
	})
	return events
}

// begin makes b new and clean on the day it was set up, or on the first day
// that the records tell of.
func (b *replayBox) begin(order []int32, until Date) {
	day := b.box.SetUpOn
	earlier := func(d Date) {
		if d != 0 && (day == 0 || d < day) {
			day = d
		}
	}
	if len(order) > 0 {
		earlier(b.box.Openings[order[0]].On)
	}
	if day == 0 {
		earlier(b.places[0].From)
	}
	if day == 0 {
		day = until
	}
	b.at = none
	b.seal = Seal{BoxID: b.box.ID, From: day, Since: day, LastHard: NotTried}
	b.own = marginal{0, boxVariance, day}
}

// history appends what happened to b, whose openings in order count.
func (b *replayBox) history(events []event, box int32, order []int32, until Date) []event {
	id := b.box.ID
	for k := range b.places {
		on := max(b.places[k].From, b.seal.Since)
		if k == 0 && b.seal.maybe.n > 0 { // in use before it is known to stand there
			on = b.seal.Since
		}
		if on <= until {
			events = append(events, event{
				on: on, what: boxPlaced, hive: int32(b.hives[k]), position: int32(b.places[k].Position),
				box: box, boxID: id, order: int32(k),
			})
		}
	}
	k := 0
	for i, ref := range order {
		on := b.box.Openings[ref].On
		if on > until {
			break
		}
		for k+1 < len(b.places) && b.places[k+1].From < on {
			k++
		}
		events = append(events, event{
			on: on, what: boxOpened, hive: int32(b.hives[k]), position: int32(b.places[k].Position),
			box: box, boxID: id, ref: ref, order: int32(i),
		})
	}
	for _, on := range b.box.Repaired {
		if on <= until {
			events = append(events, event{on: on, what: boxRepaired, hive: none, box: box, boxID: id})
		}
	}
	return events
}
