package web

import (
	"pryday/scheduler"
	"pryday/scheduler/text"
)

// visitWork says what a visit to come takes of whoever goes.
type visitWork struct {
	Size  string // boxes, and hours for one person, in short
	Hours string // and what these hours are
	Day   string // hours of the reader's day, where its part is more than that; else empty
	Split bool   // the reader may take boxes off it
	Path  string
}

// work says it to a reader of a visit of some work; nil of one that is over.
func (p *apiaryRecords) work(v *scheduler.Visit, w scheduler.Work, who *visitor) *visitWork {
	if !v.Status.Open() {
		return nil
	}
	hours := text.Hours(p.club.HoursEach(v.ApiaryID, w, 1))
	out := &visitWork{Path: visitPath(v.UID), Size: p.say.Say("page.visit.size", w.Openings, hours), Hours: p.say.Say("page.visit.hours", hours)}
	if w.Openings == 0 {
		out.Size = capital(p.say.Say("page.visit.size-look", hours))
	}
	if m := p.club.Member(who.MemberID); m != nil {
		if day, long := p.club.TooLongFor(m, v, w); long {
			out.Day = p.say.Number(day, text.Hours(day).Decimals)
			out.Split = w.Openings > 1 && v.May(scheduler.VisitMoved) && who.mayPlan(p.apiary, v)
		}
	}
	return out
}
