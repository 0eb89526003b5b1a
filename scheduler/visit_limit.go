package scheduler

import (
	"cmp"
	"slices"
)

// BoxLimit is the last day on which the rules let a box wait, whatever people want:
// its longest wait ends, or a stage that asks for its opening.
type BoxLimit struct {
	BoxID int64
	On    Date
}

// HardLimits returns those of the boxes of a visit of c that come within the
// horizon and have not passed, by day and in the order of the hands.
func HardLimits(c *Club, v *Visit, today Date) []BoxLimit {
	a := c.Apiary(v.ApiaryID)
	if a == nil {
		return nil
	}
	var pr projection
	pr.begin(c, a, newDueRules(c), ReplayApiary(c, a.ID, today), today)
	var out []BoxLimit
	for i := range pr.start {
		b := &pr.start[i]
		if !v.Lists(b.box.ID) {
			continue
		}
		if limit := b.hardLimit(&pr.days, &pr.rules); limit > 0 && limit < HorizonDays {
			out = append(out, BoxLimit{b.box.ID, today + Date(limit)})
		}
	}
	slices.SortFunc(out, func(a, b BoxLimit) int {
		return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(v.place(a.BoxID), v.place(b.BoxID)))
	})
	return out
}

// HardLimit returns the first day of HardLimits, or zero.
func HardLimit(c *Club, v *Visit, today Date) Date {
	if limits := HardLimits(c, v, today); len(limits) > 0 {
		return limits[0].On
	}
	return 0
}
