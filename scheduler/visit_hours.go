package scheduler

// tripHours are the hours that a visit to an apiary takes before any box is opened:
// the journey and the setup. They are those of the rules where it is gone.
func (c *Club) tripHours(apiaryID int64) float64 {
	travel := c.Rules.Hours.Travel
	if a := c.Apiary(apiaryID); a != nil {
		travel = a.travel(&c.Rules)
	}
	return travel + c.Rules.Hours.Setup
}

// ExpectedHours returns the hours that a visit of c is expected to take one
// person: journey and setup, opening its boxes, and the prying that their odds of
// being hard and stuck stand for; lifting full boxes aside.
func ExpectedHours(c *Club, v *Visit) float64 {
	hours := c.tripHours(v.ApiaryID)
	h := &c.Rules.Hours
	for _, b := range v.Boxes {
		hours += h.Open + h.Hard*(b.Odds-b.Stuck) + h.Stuck*b.Stuck
	}
	return hours
}
