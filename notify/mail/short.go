package mail

import (
	"cmp"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
)

// maxSpecial bounds the boxes that a short mail says something of.
const maxSpecial = 12

// special writes what is special about a visit: boxes that were hard or shut
// last time, one by one; and in a line each which are heavy and how many have
// gaps to measure. Whatever else there is to know and to do stands on the
// checklist, behind a button.
func (r *reminder) special(v *scheduler.Visit, items []advice.ChecklistItem) []block {
	var out []string
	for _, b := range v.Boxes {
		at, ok := r.boxes[b.BoxID]
		if !ok {
			continue
		}
		if o, ok := at.box.LastOpening(v.On); ok && (o.LeftShut || o.Difficulty() >= scheduler.Hard) {
			says := r.say.Say("explain.last", o.Difficulty(), r.say.PlainDay(o.On))
			if o.LeftShut {
				says = r.say.Say("explain.shut", r.say.PlainDay(o.On))
			}
			out = append(out, r.say.Say("mail.special.box", text.Hive(oneLine(at.hive.Name)), oneLine(at.box.Name), says))
		}
	}
	if more := len(out) - maxSpecial; more > 0 {
		out = append(out[:maxSpecial], r.say.Say("mail.special.more", more))
	}
	out = append(out, r.unusual(v, items)...)
	if len(out) == 0 {
		return nil
	}
	return []block{h(3, r.say.Say("mail.special.head")), {List: out}}
}

// unusual says in few words what boxes ask for beyond the usual steps.
func (r *reminder) unusual(v *scheduler.Visit, items []advice.ChecklistItem) []string {
	var heavy, measured []scheduler.VisitBox
	for _, b := range v.Boxes {
		for _, it := range items {
			switch {
			case it.BoxID != b.BoxID:
			case it.Step == scheduler.StepLift:
				heavy = append(heavy, b)
			case it.Step == scheduler.StepGaps:
				measured = append(measured, b)
			}
		}
	}
	var out []string
	if len(heavy) > 0 {
		out = append(out, r.say.Say("mail.special.heavy", r.overview(heavy)))
	}
	if len(measured) > 0 {
		out = append(out, r.say.Say("mail.special.gaps", len(measured)))
	}
	return out
}

// lateInShort writes overdue boxes in two lines: which, and what the one that
// waits longest has come to.
func (r *reminder) lateInShort(ids []int64) []block {
	var boxes []scheduler.VisitBox
	var longest *scheduler.BoxState
	for _, id := range ids {
		if _, ok := r.boxes[id]; !ok {
			continue
		}
		boxes = append(boxes, scheduler.VisitBox{BoxID: id})
		if s := r.state(id); s != nil && s.Due != 0 && (longest == nil || s.Due < longest.Due) {
			longest = s
		}
	}
	if len(boxes) == 0 {
		return nil
	}
	slices.SortStableFunc(boxes, func(a, b scheduler.VisitBox) int {
		return cmp.Compare(r.boxes[a.BoxID].hive.Name, r.boxes[b.BoxID].hive.Name)
	})
	facts := []fact{{r.say.Say("mail.label.late"), r.overview(boxes)}}
	if longest != nil {
		facts = append(facts, fact{oneLine(r.boxes[longest.BoxID].box.Name), r.since(longest.BoxID)})
	}
	return []block{{Facts: facts}}
}
