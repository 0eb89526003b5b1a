package scheduler

// LimitPreview is what a year comes to with a limit of the odds.
type LimitPreview struct {
	Limit float64 // a probability, as Rules.OddsLimit
	PreviewSide
}

// PreviewLimits plans c from today as Preview does, once for each limit of the
// odds in place of its own, all else being as it is. With the limit that holds
// the year comes to what it does now. It changes nothing in c.
func PreviewLimits(c *Club, limits []float64, today Date) []LimitPreview {
	var p Planner
	now := p.PlanClub(c, today)
	stand := standingVisits(c.Visits, now)
	var out []LimitPreview
	for _, limit := range limits {
		if limit == c.Rules.OddsLimit {
			out = append(out, LimitPreview{limit, previewSide(c, now)})
			continue
		}
		changed := *c
		changed.Rules.OddsLimit, changed.Visits = limit, stand
		out = append(out, LimitPreview{limit, previewSide(&changed, p.PlanClub(&changed, today))})
	}
	return out
}
