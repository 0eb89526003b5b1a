package simulation

import "pryday/scheduler"

// workHours are the expected costs of work in both worlds, for every policy the
// same and whatever the rules of a planner say; common practice, no source.
// Setup is what a visit costs beside the journey: suit and smoke, and a colony
// that stops foraging for the day. Lift is what taking off a full super and
// putting it back adds to opening it: two people, or frames out into an empty box.
var workHours = struct{ Travel, Setup, Open, Lift, Hard, Stuck float64 }{
	Travel: 2, Setup: 0.25, Open: 0.2, Lift: 0.1, Hard: 0.3, Stuck: 2,
}

// broodBoxes is how many boxes of a stack, from the bottom, are never full of honey.
const broodBoxes = 2

// supersFull reports whether supers are full of honey on a day: from late in May
// to the harvest at the end of July, and six months later in the south. In the
// tropics flows follow the rains, and nothing is assumed.
func supersFull(latitude float64, on scheduler.Date) bool {
	const fromDay, untilDay = 140, 212
	_, into := localDay(latitude, on)
	return !tropical(latitude) && into >= fromDay && into < untilDay
}

// full reports whether a box at a level of a stack, 0 the lowest, is full of
// honey on a day.
func full(level int, latitude float64, on scheduler.Date) bool {
	return level >= broodBoxes && supersFull(latitude, on)
}

// hours returns what a tally took.
func (t *tally) hours() float64 {
	h := &workHours
	return float64(t.visits)*(h.Travel+h.Setup) + float64(t.openings)*h.Open + float64(t.lifted)*h.Lift +
		float64(t.hard)*h.Hard + float64(t.stuck)*h.Stuck
}

// full reports whether the i-th box of a tidy place is full of honey on a day.
func (s *site) full(i int, on scheduler.Date) bool {
	level := 0
	for !s.isLowest(i - level) {
		level++
	}
	return full(level, s.apiary.Latitude, on)
}
