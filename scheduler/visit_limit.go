package scheduler

// HardLimit returns the last day on which the rules let the boxes of a visit of
// c wait, whatever people want: the first on which the longest wait of one of
// them ends, or a stage that asks for its opening. Zero where that lies beyond
// the horizon, or has passed.
func HardLimit(c *Club, v *Visit, today Date) Date {
	a := c.Apiary(v.ApiaryID)
	if a == nil {
		return 0
	}
	var pr projection
	pr.begin(c, a, newDueRules(c), ReplayApiary(c, a.ID, today), today)
	first := int32(noDay)
	for i := range pr.start {
		b := &pr.start[i]
		if !v.Lists(b.box.ID) {
			continue
		}
		if limit := b.hardLimit(&pr.days, &pr.rules); limit > 0 {
			first = min(first, limit)
		}
	}
	if first >= HorizonDays {
		return 0
	}
	return today + Date(first)
}
