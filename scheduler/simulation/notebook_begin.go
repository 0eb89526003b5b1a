package simulation

import (
	"slices"

	"pryday/scheduler"
)

// begin forgets what was written down of the days before one. Where each box stands is
// known on today, and what was found of it since; since when it is there is not.
func (n *notebook) begin(day, today scheduler.Date) {
	n.arrive(today)
	before := func(d scheduler.Date) bool { return d < day }
	n.pending = slices.DeleteFunc(n.pending, func(e entry) bool { return before(e.opening.On) })
	for h := range n.apiary.Hives {
		hive := &n.apiary.Hives[h]
		hive.Requeened = slices.DeleteFunc(slices.Clone(hive.Requeened), before)
		for b := range hive.Boxes {
			box := &hive.Boxes[b]
			box.Openings = slices.DeleteFunc(box.Openings, func(o scheduler.Opening) bool { return before(o.On) })
			box.SetUpOn, box.GuessedOn = scheduler.GuessedDay(today), today
			for i, o := range box.Openings {
				if i == 0 || o.On < box.SetUpOn {
					box.SetUpOn = o.On
				}
			}
			for len(box.Places) > 1 && box.Places[1].From <= box.SetUpOn {
				box.Places = box.Places[1:]
			}
			if len(box.Places) > 0 {
				box.Places = slices.Clone(box.Places)
				box.Places[0].From = box.SetUpOn
			}
		}
	}
}
