package scheduler

import "cmp"

// Tick says that a step of a visit's checklist was done: of the whole apiary, of
// one hive, or of one box.
type Tick struct {
	Step   Step
	HiveID int64 // 0 for a box, and for the whole apiary
	BoxID  int64 // 0 for a hive, and for the whole apiary
	By     int64 // member id; 0 when not known
	On     Date
}

// CompareTicks orders ticks: the whole apiary first, then hives, then boxes.
func CompareTicks(a, b Tick) int {
	return cmp.Or(cmp.Compare(a.BoxID, b.BoxID), cmp.Compare(a.HiveID, b.HiveID), cmp.Compare(a.Step, b.Step))
}

// Tick returns the tick of a step at a hive or a box of it (0 for none), or nil.
func (v *Visit) Tick(step Step, hive, box int64) *Tick {
	if box != 0 {
		hive = 0
	}
	for i := range v.Ticks {
		if t := &v.Ticks[i]; t.Step == step && t.HiveID == hive && t.BoxID == box {
			return t
		}
	}
	return nil
}
