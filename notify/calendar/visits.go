package calendar

import (
	"time"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// The windows of a feed, in days.
const (
	PastDays      = 60 // done and missed visits stay this long
	CancelledDays = 30 // cancelled visits stay this long after they were cancelled; the store's number too
	TentativeDays = 56 // tentative visits further ahead are left out unless asked for
)

// VisitRecord is a visit with what only its store knows of it.
type VisitRecord struct {
	scheduler.Visit
	ChangedAt      time.Time
	CancelledUntil scheduler.Date // the last day on which a cancelled one is shown, CancelledDays after it was cancelled
	Opened         []int64        // of a done one: its boxes of which an opening is written down
}

// Options say whose calendar it is and what belongs in it.
type Options struct {
	Today         scheduler.Date
	Language      string                    // BCP 47 tag; empty means English
	Units         text.Units                // of weights
	Hours         *scheduler.HoursOfDay     // timed events; nil for all-day ones
	Zone          string                    // IANA zone of Hours; empty means each apiary's own
	OnlyConfirmed bool                      // leave tentative visits out
	FarTentative  bool                      // keep tentative visits beyond TentativeDays
	ExactPlace    bool                      // say where: only on a member's own link that asks for it
	Alarm         time.Duration             // before the start, 0 for none; see Event.Alarm
	VisitURL      func(*VisitRecord) string // the address of a visit's page; nil for none
}

// EventsOf turns visits into calendar events: those that have a UID and lie
// in the feed's window. Nothing of an apiary's access notes goes in.
func EventsOf(club *scheduler.Club, visits []VisitRecord, o Options) []Event {
	apiaries := map[int64]*scheduler.Apiary{}
	for i := range club.Apiaries {
		apiaries[club.Apiaries[i].ID] = &club.Apiaries[i]
	}
	w := writer{club: club, names: scheduler.NewNames(club), say: text.In(o.Language, o.Units), o: &o}
	var out []Event
	for i := range visits {
		v := &visits[i]
		a := apiaries[v.ApiaryID]
		if a == nil || v.UID == "" || !o.wants(v) {
			continue
		}
		out = append(out, w.event(v, a))
	}
	return out
}

// wants reports whether a visit lies in the window of the feed. A visit that
// was cancelled before the feed would have shown it is none of its events.
func (o *Options) wants(v *VisitRecord) bool {
	switch v.Status {
	case scheduler.Tentative:
		return !o.OnlyConfirmed && v.On >= o.Today-PastDays && (o.FarTentative || v.On <= o.Today+TentativeDays)
	case scheduler.Cancelled:
		seen := o.FarTentative || v.On <= v.CancelledUntil-CancelledDays+TentativeDays
		return seen && v.On >= o.Today-PastDays && o.Today <= v.CancelledUntil
	}
	return v.On >= o.Today-PastDays
}

// writer writes the entries of one calendar.
type writer struct {
	club  *scheduler.Club
	names *scheduler.Names
	say   *text.Speaker
	o     *Options
}

func (w *writer) event(v *VisitRecord, a *scheduler.Apiary) Event {
	o := w.o
	e := Event{
		UID: v.UID, On: v.On, ChangedAt: v.ChangedAt, Sequence: v.Sequence, Status: Confirmed,
		Location: a.Name, Summary: w.title(v, a),
	}
	switch v.Status {
	case scheduler.Tentative:
		e.Status = Tentative
	case scheduler.Cancelled:
		e.Status = Cancelled
	}
	e.Colour, e.Categories = w.look(v)
	if v.Status.Open() {
		e.Alarm = o.Alarm
	}
	if o.Hours != nil {
		e.Hours, e.Zone = o.Hours, o.Zone
		if e.Zone == "" {
			e.Zone = a.Timezone
		}
	}
	if o.ExactPlace {
		e.Geo = &Geo{a.Latitude, a.Longitude}
	}
	if o.VisitURL != nil {
		e.URL = o.VisitURL(v)
	}
	e.Description = w.describe(v, a, e.URL)
	return e
}
