package scheduler

import "math"

// Gives returns what a member can give under the club's rules: the member's own
// wishes, and the rules where there are none.
func (r *Rules) Gives(m *Member) Capacity {
	out := r.Capacity
	if m.Prefs.HoursADay > 0 {
		out.HoursADay = m.Prefs.HoursADay
	}
	if m.Prefs.VisitsAWeek > 0 {
		out.VisitsAWeek = m.Prefs.VisitsAWeek
	}
	if m.Prefs.Weekdays != 0 {
		out.Weekdays = m.Prefs.Weekdays
	}
	return out
}

// stop is an apiary as a journey sees it.
type stop struct {
	apiary              int64
	latitude, longitude float64
	trip                string
	travel              float64 // hours there and back
	setup               float64 // hours of each who goes there, before any box is opened
}

// newStop returns the stop of an apiary.
func newStop(a *Apiary, r *Rules) stop {
	return stop{a.ID, a.Latitude, a.Longitude, a.Trip, a.travel(r), r.Hours.Setup}
}

// travel returns the hours to an apiary and back.
func (a *Apiary) travel(r *Rules) float64 {
	return travelHours(a.TravelHours, r)
}

// travelHours are an apiary's own hours there and back, or those of the rules.
func travelHours(own *float64, r *Rules) float64 {
	if own != nil {
		return *own
	}
	return r.Hours.Travel
}

// least is what a visit takes of each who goes before any box is opened, in
// hours, where nothing else leads that way.
func (s *stop) least() float64 { return s.travel + s.setup }

// sameTrip reports whether whoever goes to both on a day makes one journey.
// Apiaries that are named as a trip are one with those of that name alone: a
// hill may lie between two that are near. Others are where they are near.
func (s *stop) sameTrip(o *stop, km float64) bool {
	if s.trip != "" || o.trip != "" {
		return s.trip == o.trip
	}
	return km > 0 && s.distance(o) <= km
}

// distance returns the kilometres between two stops as the crow flies, on a
// sphere (the haversine formula).
func (s *stop) distance(o *stop) float64 {
	const earthKM, degree = 6371, math.Pi / 180
	north := math.Sin((s.latitude - o.latitude) * degree / 2)
	east := math.Sin((s.longitude - o.longitude) * degree / 2)
	h := north*north + math.Cos(s.latitude*degree)*math.Cos(o.latitude*degree)*east*east
	return 2 * earthKM * math.Asin(math.Sqrt(min(h, 1)))
}

// call is one visit of one person on a day.
type call struct {
	at   stop
	work float64 // hours at the apiary
}

// before orders the calls of a day by how far they take.
func (c *call) before(o *call) bool {
	return c.at.travel > o.at.travel || c.at.travel == o.at.travel && c.at.apiary < o.at.apiary
}

// hoursOf returns what the calls of one person on one day take, with one more
// if that is not nil: the work, getting ready for it at each place, and the
// journeys. Of the apiaries of one trip only the farthest costs its journey; it
// passes by the others.
func hoursOf(calls []call, more *call, km float64) float64 {
	total := 0.0
	pays := func(c *call) float64 {
		for i := range calls {
			if o := &calls[i]; o.before(c) && o.at.sameTrip(&c.at, km) {
				return 0
			}
		}
		if more != nil && more != c && more.before(c) && more.at.sameTrip(&c.at, km) {
			return 0
		}
		return c.at.travel
	}
	for i := range calls {
		total += calls[i].at.setup + calls[i].work + pays(&calls[i])
	}
	if more != nil {
		total += more.at.setup + more.work + pays(more)
	}
	return total
}
