package calendar

import (
	"strings"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
)

// The windows of a feed, in days.
const (
	PastDays      = 60 // done and missed visits stay this long
	CancelledDays = 30 // cancelled visits stay this long after they were cancelled; the store's number too
	TentativeDays = 56 // tentative visits further ahead are left out unless asked for
)

// maxBoxesTold bounds the boxes named in one entry.
const maxBoxesTold = 24

// VisitRecord is a visit with what only its store knows of it.
type VisitRecord struct {
	scheduler.Visit
	ChangedAt      time.Time
	CancelledUntil scheduler.Date // the last day on which a cancelled one is shown, CancelledDays after it was cancelled
}

// Options say whose calendar it is and what belongs in it.
type Options struct {
	Today         scheduler.Date
	Language      string                  // BCP 47 tag; empty means English
	Units         text.Units              // of weights
	Hours         *scheduler.HoursOfDay   // timed events; nil for all-day ones
	Zone          string                  // IANA zone of Hours; empty means each apiary's own
	OnlyConfirmed bool                    // leave tentative visits out
	FarTentative  bool                    // keep tentative visits beyond TentativeDays
	ExactPlace    bool                    // say where: only on a member's own link that asks for it
	Alarm         time.Duration           // before the start, 0 for none; see Event.Alarm
	VisitURL      func(uid string) string // the address of a visit's page; nil for none
}

// EventsOf turns visits into calendar events: those that have a UID and lie
// in the feed's window. Nothing of an apiary's access notes goes in.
func EventsOf(club *scheduler.Club, visits []VisitRecord, o Options) []Event {
	say := text.In(o.Language, o.Units)
	names := scheduler.NewNames(club)
	apiaries := map[int64]*scheduler.Apiary{}
	for i := range club.Apiaries {
		apiaries[club.Apiaries[i].ID] = &club.Apiaries[i]
	}
	var out []Event
	for i := range visits {
		v := &visits[i]
		a := apiaries[v.ApiaryID]
		if a == nil || v.UID == "" || !o.wants(v) {
			continue
		}
		out = append(out, eventOf(club, v, a, names, say, &o))
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

func eventOf(club *scheduler.Club, v *VisitRecord, a *scheduler.Apiary, names *scheduler.Names, say *text.Speaker, o *Options) Event {
	e := Event{
		UID: v.UID, On: v.On, ChangedAt: v.ChangedAt, Sequence: v.Sequence, Status: Confirmed,
		Location: a.Name, Categories: []string{say.Say("calendar.category-visit")}, Alarm: o.Alarm,
		Colour: "goldenrod",
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
		e.URL = o.VisitURL(v.UID)
	}
	e.Summary = say.Say("visit.look", a.Name)
	if n := len(v.Boxes); n > 0 {
		e.Summary = say.Say("visit.open", n, a.Name)
		e.Categories = append(e.Categories, say.Say("calendar.category-opening"))
	}
	switch v.Status {
	case scheduler.Tentative:
		e.Status, e.Colour = Tentative, "tan"
		e.Summary = say.Say("visit.tentative", e.Summary)
	case scheduler.Cancelled:
		e.Status, e.Colour = Cancelled, "gray"
		e.Summary = say.Say("visit.cancelled", e.Summary)
	case scheduler.Done:
		e.Summary = say.Say("visit.done", e.Summary)
	case scheduler.Missed:
		e.Summary = say.Say("visit.missed", e.Summary)
	}
	if !v.Status.Open() {
		e.Alarm = 0
	}
	e.Description = describe(club, v, a, names, say, e.URL)
	return e
}

// describe writes the plain text of an entry: who goes, the reasons, what to
// bring, two cautions and the visit's page.
func describe(club *scheduler.Club, v *VisitRecord, a *scheduler.Apiary, names *scheduler.Names, say *text.Speaker, page string) string {
	var lines []string
	if v.Status == scheduler.Cancelled {
		lines = append(lines, say.Say("calendar.cancelled"))
	} else {
		lines = append(lines, who(v, names, say))
		lines = append(lines, reasons(v, names, say)...)
		if v.Status.Open() {
			lines = append(lines, cautionLines(club, a, v, say)...)
		}
	}
	if page != "" {
		lines = append(lines, say.Say("calendar.page", page))
	}
	return strings.Join(lines, "\n")
}

// cautionLines says what to bring and at most two cautions that matter.
func cautionLines(club *scheduler.Club, a *scheduler.Apiary, v *VisitRecord, say *text.Speaker) []string {
	stage := scheduler.NewSeason(a.Place(), &club.Rules).Stage(v.On)
	lines := []string{say.Say("calendar.bring", advice.BringText(club, &v.Visit, stage))}
	for _, c := range advice.Cautions(club, &v.Visit, stage, 0).Top {
		lines = append(lines, say.Say("calendar.care", c.Say))
	}
	return lines
}

func who(v *VisitRecord, names *scheduler.Names, say *text.Speaker) string {
	var going []string
	for _, id := range v.Who {
		if name := CleanLine(names.Member(id)); name != "" {
			going = append(going, name)
		}
	}
	if len(going) == 0 {
		return say.Say("calendar.who-nobody")
	}
	return say.Say("calendar.who-going", say.List(going))
}

// reasons lists the boxes of a visit hive by hive with why each is opened.
func reasons(v *VisitRecord, names *scheduler.Names, say *text.Speaker) []string {
	var lines []string
	lastHive := ""
	for i, b := range v.Boxes {
		if i == maxBoxesTold {
			return append(lines, say.Say("calendar.more", len(v.Boxes)-i))
		}
		hive, box := names.Box(b.BoxID)
		hive, box = CleanLine(hive), CleanLine(box) // a name cannot pass for a line of its own
		if i == 0 || hive != lastHive {
			lines = append(lines, say.Say("calendar.hive", hive))
			lastHive = hive
		}
		switch why := b.Reason.Text(b.Odds); {
		case why.IsZero():
			lines = append(lines, box)
		case b.Reason == scheduler.BecauseOdds:
			lines = append(lines, say.Say("calendar.box-odds", box, why, text.Chance(b.Odds)))
		default:
			lines = append(lines, say.Say("calendar.box", box, why))
		}
	}
	return lines
}
