package calendar

import (
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// became sorts the boxes of a done visit by what is known of them: opened, as
// is what stands on an opened box, said not to be opened, and without a word.
func became(v *VisitRecord, a *scheduler.Apiary) (opened, not, unwritten []int64) {
	off := map[int64]bool{}
	for i := range a.Hives {
		below := false
		for _, b := range a.Hives[i].Boxes {
			below = below || slices.Contains(v.Opened, b.ID)
			off[b.ID] = below
		}
	}
	for _, b := range v.Boxes {
		switch {
		case off[b.BoxID] || slices.Contains(v.Opened, b.BoxID):
			opened = append(opened, b.BoxID)
		case slices.Contains(v.NotOpened, b.BoxID):
			not = append(not, b.BoxID)
		default:
			unwritten = append(unwritten, b.BoxID)
		}
	}
	return opened, not, unwritten
}

// became says what became of the boxes of a done visit.
func (w *writer) became(v *VisitRecord, a *scheduler.Apiary) (lines []string) {
	opened, not, unwritten := became(v, a)
	if n := len(opened); n > 0 {
		lines = append(lines, w.say.Say("calendar.opened", n, w.marks(opened)))
	}
	if n := len(not); n > 0 {
		lines = append(lines, w.say.Say("calendar.not-opened", n, w.marks(not)))
	}
	if n := len(unwritten); n > 0 {
		lines = append(lines, w.say.Say("calendar.unwritten", n, w.marks(unwritten)))
	}
	return lines
}

// marks names boxes hive by hive, up to a bound.
func (w *writer) marks(boxes []int64) string {
	told := boxes[:min(len(boxes), maxBoxesTold)]
	var hives []string
	for i := 0; i < len(told); {
		hive, _ := w.names.Box(told[i])
		var marks []string
		for ; i < len(told); i++ {
			h, box := w.names.Box(told[i])
			if h != hive {
				break
			}
			marks = append(marks, CleanLine(box))
		}
		hives = append(hives, w.say.Say("lift.box-of", strings.Join(marks, ", "), text.Hive(CleanLine(hive))))
	}
	if n := len(boxes) - len(told); n > 0 {
		hives = append(hives, w.say.Say("calendar.more", n))
	}
	return strings.Join(hives, "; ")
}
