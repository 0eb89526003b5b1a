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

// Work is what a visit is expected to be at an apiary: how many boxes it opens,
// and how many of these are expected to be hard and how many stuck.
type Work struct {
	Openings    int
	Hard, Stuck float64 // sums of odds; a stuck box is not counted as a hard one
}

// Expected returns what v is expected to be at its apiary.
func (v *Visit) Expected() Work {
	var w Work
	for i := range v.Boxes {
		w.add(v.Boxes[i].Odds, v.Boxes[i].Stuck)
	}
	return w
}

// add counts a box with its odds of being hard or stuck, and stuck.
func (w *Work) add(odds, stuck float64) {
	w.Openings++
	w.Hard += odds - stuck
	w.Stuck += stuck
}

// Hours returns the hours that the work is expected to take one person under
// the rules: opening the boxes, and the prying; lifting full boxes aside.
func (w *Work) Hours(r *Rules) float64 {
	return w.openingHours(r) + w.pryingHours(r)
}

// openingHours returns what it takes where every box comes off lightly.
func (w *Work) openingHours(r *Rules) float64 { return r.Hours.Open * float64(w.Openings) }

// pryingHours returns what is expected to come on top of that.
func (w *Work) pryingHours(r *Rules) float64 { return r.Hours.Hard*w.Hard + r.Hours.Stuck*w.Stuck }

// ExpectedHours returns the hours that a visit of c is expected to take one
// person: journey, setup and the work.
func ExpectedHours(c *Club, v *Visit) float64 { return c.HoursEach(v.ApiaryID, v.Expected(), 1) }

// HoursEach returns the hours that work at an apiary is expected to take each of
// so many people who share it: the journey and the setup are everybody's.
func (c *Club) HoursEach(apiaryID int64, w Work, people int) float64 {
	return c.tripHours(apiaryID) + w.Hours(&c.Rules)/float64(max(people, 1))
}

// TooLongFor reports whether a visit of some work is more than the day of a
// member, shared with those who said that they go, and how many hours that day has.
func (c *Club) TooLongFor(m *Member, v *Visit, w Work) (day float64, is bool) {
	people := len(v.Taken)
	if !v.IsTakenBy(m.ID) {
		people++
	}
	day = c.Rules.Gives(m).HoursADay
	return day, c.HoursEach(v.ApiaryID, w, people) > day+hourSlip
}
