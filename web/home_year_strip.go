package web

import (
	"time"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// yearStrip is twelve months of one apiary: its stages, the days on which
// boxes were opened and the visits to come. Units of the drawing are days.
type yearStrip struct {
	Label  string // what it shows, for those who do not see it
	Days   int
	Today  int
	Spans  []stripSpan
	Opened []int
	Visits []stripVisit
	Months []string
}

type stripSpan struct {
	Class    string
	From, To int
	Width    int
	Title    string
	says     text.Text
}

type stripVisit struct {
	At    int
	May   bool // it may still move
	Title string
}

// pastMonths is how much of the strip lies before this month.
const pastMonths = 4

// newYearStrip draws a season around today.
func (p *apiaryRecords) newYearStrip(opened []scheduler.Date, visits []scheduler.Visit) yearStrip {
	year, month, _ := p.today.Civil()
	first := scheduler.NewDate(year, month-pastMonths, 1)
	end := scheduler.NewDate(year, month-pastMonths+12, 1)
	s := yearStrip{Days: int(end - first), Today: int(p.today - first)}
	s.Spans = p.stageSpans(first, end)
	for _, on := range opened {
		if on >= first && on < end {
			s.Opened = append(s.Opened, int(on-first))
		}
	}
	var days []string
	for _, v := range visits {
		if v.On >= first && v.On < end && v.Status.Open() {
			s.Visits = append(s.Visits, stripVisit{int(v.On - first), v.Status == scheduler.Tentative, p.say.Day(v.On)})
			days = append(days, p.say.PlainDay(v.On))
		}
	}
	for i := range 12 {
		_, m, _ := scheduler.NewDate(year, month-pastMonths+time.Month(i), 1).Civil()
		name := []rune(p.say.Months()[m-1])
		s.Months = append(s.Months, string(name[:min(len(name), 3)])) // a month is narrow on a phone
	}
	s.Label = p.say.Say("page.year.label-none", s.stages())
	if len(days) > 0 {
		s.Label = p.say.Say("page.year.label", s.stages(), days)
	}
	return s
}

// stages says which stages begin in the strip, and when.
func (s *yearStrip) stages() (out []text.Text) {
	for _, span := range s.Spans[1:] {
		out = append(out, span.says)
	}
	return out
}

// stageSpans are the stages from a day up to, not including, another.
func (p *apiaryRecords) stageSpans(first, end scheduler.Date) []stripSpan {
	var out []stripSpan
	for d := first; d < end; {
		stage := p.season.Stage(d)
		_, last := p.season.StageSpan(d)
		to := max(min(last+1, end), d+1)
		from := text.New("page.year.from", stage, d)
		out = append(out, stripSpan{
			Class: "st-" + stage.String(), From: int(d - first), To: int(to - first), Width: int(to - d), Title: p.say.Tell(from), says: from,
		})
		d = to
	}
	return out
}
