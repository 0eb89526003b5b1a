package scheduler

// TravelHours returns the hours of a journey to an apiary and back.
func (c *Club) TravelHours(a *Apiary) float64 {
	if a != nil && a.TravelHours != nil {
		return *a.TravelHours
	}
	return c.Rules.Hours.Travel
}

// ExpectedHours returns the hours that a visit of c is expected to take one
// person: the journey, opening its boxes, and the prying that their odds of being
// hard and stuck stand for.
func ExpectedHours(c *Club, v *Visit) float64 {
	hours := c.TravelHours(c.Apiary(v.ApiaryID))
	h := &c.Rules.Hours
	for _, b := range v.Boxes {
		hours += h.Open + h.Hard*(b.Odds-b.Stuck) + h.Stuck*b.Stuck
	}
	return hours
}
