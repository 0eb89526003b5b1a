package mail

import (
	"cmp"
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/advice"
)

// maxSpecial bounds the boxes that a short mail says something of.
const maxSpecial = 12

// special writes what is special about boxes of a visit: hard or shut last
// time, heavy, with gaps to measure. Whatever else there is to know and to do
// stands on the checklist, behind a button.
func (r *reminder) special(v *scheduler.Visit, items []advice.ChecklistItem) []block {
	var out []string
	for _, b := range v.Boxes {
		at, ok := r.boxes[b.BoxID]
		if !ok {
			continue
		}
		var says []string
		if o, ok := at.box.LastOpening(v.On); ok && (o.LeftShut || o.Difficulty() >= scheduler.Hard) {
			key := "explain.last"
			if o.LeftShut {
				key = "explain.shut"
			}
			says = append(says, r.say.Say(key, o.Difficulty(), r.say.PlainDay(o.On)))
		}
		says = append(says, r.unusual(items, b.BoxID)...)
		if len(says) > 0 {
			out = append(out, r.say.Say("mail.special.box", oneLine(at.hive.Name), oneLine(at.box.Name), strings.Join(says, "; ")))
		}
	}
	if len(out) == 0 {
		return nil
	}
	if more := len(out) - maxSpecial; more > 0 {
		out = append(out[:maxSpecial], r.say.Say("mail.special.more", more))
	}
	return []block{h(3, r.say.Say("mail.special.head")), {List: out}}
}

// unusual says in few words what a box asks for beyond the usual steps.
func (r *reminder) unusual(items []advice.ChecklistItem, box int64) []string {
	var out []string
	for _, it := range items {
		if it.BoxID != box {
			continue
		}
		switch {
		case it.Step == advice.StepLift && it.Do.Key != "lift.alone":
			out = append(out, r.say.Say("mail.special.heavy", it.Do.Args[1]))
		case it.Step == advice.StepGaps:
			out = append(out, r.say.Say("mail.special.gaps", len(it.Gaps)))
		}
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
