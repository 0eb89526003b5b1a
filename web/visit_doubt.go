package web

import (
	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
)

// doubts says what speaks against a day of a visit.
func (p *apiaryRecords) doubts(v *scheduler.Visit, on scheduler.Date) (out []text.Text) {
	day := text.Full(on)
	shut := func(spans []scheduler.Period, key string) bool {
		for _, period := range spans {
			if period.Contains(on) {
				out = append(out, text.New(key, day, p.period(period)))
				return true
			}
		}
		return false
	}
	if !shut(p.apiary.Standstill, "page.doubt.standstill") && !shut(p.apiary.NoGo, "page.doubt.owner") && len(v.Boxes) > 0 && !p.season.MayOpen(on) {
		out = append(out, text.New("page.doubt.closed", day, p.season.Stage(on)))
	}
	for _, id := range v.Who {
		if m := p.club.Member(id); m != nil && m.Away(on) {
			out = append(out, text.New("page.doubt.away", m.Name, day))
		}
	}
	return append(out, p.tooLate(v, on)...)
}

// lateDays is how many days that boxes had to be opened by are named.
const lateDays = 3

// tooLate says what the rules ask of a visit before a day, whoever wants what: boxes
// to be opened, or the visit itself.
func (p *apiaryRecords) tooLate(v *scheduler.Visit, on scheduler.Date) (out []text.Text) {
	day, more := text.Full(on), 0
	late := scheduler.HardLimits(p.club, v, p.today)
	for len(late) > 0 && late[0].On < on {
		by := late[0].On
		var boxes []string
		for ; len(late) > 0 && late[0].On == by; late = late[1:] {
			if hive, box := p.apiary.Box(late[0].BoxID); box != nil {
				name := box.Name
				if advice.MarkElsewhere(p.apiary, hive, name) {
					name = p.say.Say("lift.box-of", name, text.Hive(hive.Name))
				}
				boxes = append(boxes, name)
			}
		}
		if len(out) < lateDays {
			out = append(out, text.New("page.doubt.late", day, boxes, by))
		} else {
			more += len(boxes)
		}
	}
	if more > 0 {
		out = append(out, text.New("page.doubt.late-more", more))
	}
	if last := p.dutyEnds(v); last != 0 && last < on {
		out = append(out, text.New("page.doubt.late-duty", day, p.season.Stage(last), last))
	}
	return out
}

// daysLate says by when the rules ask for something of a visit, where some of the days
// that it may be put off to are later.
func (p *apiaryRecords) daysLate(v *scheduler.Visit, days []dayChoice) string {
	last := scheduler.HardLimit(p.club, v, p.today)
	if ends := p.dutyEnds(v); ends != 0 && (last == 0 || ends < last) {
		last = ends
	}
	if len(days) == 0 || last == 0 || days[len(days)-1].ISO <= last.String() {
		return ""
	}
	return p.say.Say("page.visit.days-late", last)
}

// dutyEnds is the last day of the stage that asks for a visit; zero for none.
func (p *apiaryRecords) dutyEnds(v *scheduler.Visit) scheduler.Date {
	if v.For != scheduler.VisitRequired {
		return 0
	}
	_, last := p.season.StageSpan(v.On)
	return last
}
