package web

import (
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// givesFields are what a member's form says about what the member can give,
// and what holds where it says nothing.
type givesFields struct {
	Hours, ClubHours   string
	Visits, ClubVisits string
	Days               []tick
	ClubDays           string
}

func newGivesFields(say *text.Speaker, r *scheduler.Rules, p *scheduler.Preferences) givesFields {
	f := givesFields{
		ClubHours: say.Number(r.Capacity.HoursADay, -1), ClubVisits: scheduler.FormatRule(r.Capacity.VisitsAWeek),
		ClubDays: weekdayWords(say, r.Capacity.Weekdays), Days: weekdayTicks(say, p.Weekdays),
	}
	if p.HoursADay > 0 {
		f.Hours = say.Number(p.HoursADay, -1)
	}
	if p.VisitsAWeek > 0 {
		f.Visits = scheduler.FormatRule(p.VisitsAWeek)
	}
	return f
}

// readGives reads them; an empty field takes the club's rule.
func readGives(f *form, p *scheduler.Preferences) {
	p.HoursADay, p.VisitsAWeek = 0, 0
	if hours := scheduler.FindRuleKey("capacity.hours_a_day"); f.has("hours_a_day") {
		p.HoursADay = f.number("hours_a_day", hours.Least, hours.Most)
	}
	if visits := scheduler.FindRuleKey("capacity.visits_a_week"); f.has("visits_a_week") {
		p.VisitsAWeek = f.whole("visits_a_week", int(visits.Least), int(visits.Most))
	}
	p.Weekdays, _ = scheduler.ParseWeekdays(f.values["gives_on"]) // ticked: a day that is none was not offered
}

// echo shows a refused form as it was typed.
func (g *givesFields) echo(f *form) {
	g.Hours, g.Visits = strings.TrimSpace(f.values.Get("hours_a_day")), strings.TrimSpace(f.values.Get("visits_a_week"))
}

// givesTheSame reports whether a member can give what they could before.
func givesTheSame(a, b *scheduler.Preferences) bool {
	return a.HoursADay == b.HoursADay && a.VisitsAWeek == b.VisitsAWeek && a.Weekdays == b.Weekdays
}
