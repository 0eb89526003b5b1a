package web

import (
	"cmp"
	"net/http"
	"slices"
	"strconv"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// yearMost is how many apiaries a year draws at once.
const yearMost = 24

// yearView is twelve months, and beside them a line for each apiary.
type yearView struct {
	calendarNav
	Whose    whoseView
	Counts   []signCount
	Stages   bool // there is an apiary
	Marks    []markKey
	Months   []yearMonth
	Heads    []string // the months in short
	Apiaries []yearApiary
	From, To int // of the apiaries that are drawn, counted from 1
	Of       int
	Earlier  string // path to those before
	Later    string
}

type yearMonth struct {
	step
	Now    bool
	Line   yearLine
	Counts []signCount
}

type yearApiary struct {
	step
	Line yearLine
}

// markKey explains a mark, by the key of a text.
type markKey struct{ Class, Name string }

var yearMarks = []markKey{
	{signNobody.Class, "page.calendar.nobody"},
	{signExpected.Class, "page.calendar.mark-expected"},
	{signGoing.Class, "page.calendar.mark-going"},
	{signDone.Class, "page.calendar.mark-done"},
	{signMissed.Class, "page.calendar.mark-missed"},
}

// yearLine is a stretch of the year: its stages, and a mark on each day that has
// visits, of the one that needs most attention. Units of the drawing are days.
type yearLine struct {
	Says  text.Text // what it shows, for those who do not see it
	Days  int
	Today int // outside of it where it is not in it
	Bands []stripSpan
	Marks []yearMark
	Wide  string // of a mark
}

type yearMark struct {
	At     int
	Class  string
	Nobody bool
}

func (s *Server) year(w http.ResponseWriter, r *http.Request, who *visitor) error {
	q := r.URL.Query()
	first, last := s.earliest(), s.earliest()+2
	if typed := q.Get("year"); typed != "" {
		var err error
		if first, err = askedYear(typed); err != nil {
			return err
		}
		last = first
	}
	rec, err := s.calendarRecords(r, who, newYear(first, 0), newYear(last, 1)-1)
	if err != nil {
		return err
	}
	if q.Get("year") == "" {
		first = newYear(rec.today, 0)
	}
	page, err := rec.yearView(first, q.Get("from"))
	if err != nil {
		return err
	}
	return s.showTo(w, r, who, rec.club, http.StatusOK, "year", strconv.Itoa(first.Year()), page)
}

// newYear is the first day of the year some years after that of a day.
func newYear(d scheduler.Date, after int) scheduler.Date {
	return scheduler.NewDate(d.Year()+after, 1, 1)
}

func (rec *calendarRecords) yearView(first scheduler.Date, from string) (yearView, error) {
	year := strconv.Itoa(first.Year())
	shown := rec.shown(first, newYear(first, 1)-1)
	apiaries := rec.apiaries(shown)
	seasons := rec.seasons(apiaries)
	v := yearView{
		calendarNav: rec.yearNav(first), Whose: rec.whoseView(yearPage, "year", year),
		Counts: countSigns(shown), Stages: len(seasons) > 0, Of: len(apiaries), From: 1, Marks: yearMarks,
	}
	for n := range 12 {
		v.Months = append(v.Months, rec.yearMonth(monthOf(first, n), seasons, shown))
		v.Heads = append(v.Heads, rec.say.ShortMonths()[n])
	}
	if from != "" {
		if v.From = int(parseID(from)); v.From < 1 || v.From > v.Of {
			return v, newProblem(http.StatusNotFound, "problem.nothing-here")
		}
	}
	v.To = min(v.From+yearMost-1, v.Of)
	for i := v.From - 1; i < v.To; i++ {
		v.Apiaries = append(v.Apiaries, rec.yearApiary(first, apiaries[i], seasons[i], shown))
	}
	to := func(n int) string {
		return rec.of.path(yearPage, "year", year) + "&from=" + strconv.Itoa(n) + "#apiaries"
	}
	if v.From > 1 {
		v.Earlier = to(max(v.From-yearMost, 1))
	}
	if v.To < v.Of {
		v.Later = to(v.To + 1)
	}
	return v, nil
}

func (rec *calendarRecords) yearNav(first scheduler.Date) calendarNav {
	to := func(after int) step {
		year := first.Year() + after
		if year < scheduler.MinDate.Year() || year > scheduler.MaxDate.Year() {
			return step{}
		}
		return step{rec.of.path(yearPage, "year", strconv.Itoa(year)), strconv.Itoa(year)}
	}
	now := monthOf(rec.today, 0)
	return calendarNav{
		Before: to(-1), After: to(1),
		Now: step{rec.of.path(monthPage, "month", now.Format(monthLayout)), rec.say.Say("page.calendar.this-month")},
	}
}

func (rec *calendarRecords) yearMonth(first scheduler.Date, seasons []*scheduler.Season, shown []*store.CalendarVisit) yearMonth {
	end := monthOf(first, 1)
	in := visitsBetween(shown, first, end-1)
	m := yearMonth{
		step: step{rec.of.path(monthPage, "month", first.Format(monthLayout)), rec.say.Month(first)},
		Now:  monthOf(rec.today, 0) == first, Line: rec.yearLine(seasons, first, end, in), Counts: countSigns(in),
	}
	m.Line.Wide = "0.7"
	return m
}

func (rec *calendarRecords) yearApiary(first scheduler.Date, a *scheduler.Apiary, season *scheduler.Season, shown []*store.CalendarVisit) yearApiary {
	of := rec.of
	of.apiary = a.ID
	at := slices.DeleteFunc(slices.Clone(shown), func(v *store.CalendarVisit) bool { return v.ApiaryID != a.ID })
	y := yearApiary{
		step: step{of.path(yearPage, "year", strconv.Itoa(first.Year())), a.Name},
		Line: rec.yearLine([]*scheduler.Season{season}, first, newYear(first, 1), at),
	}
	y.Line.Wide = "3"
	return y
}

// yearLine draws the stages of most apiaries and some visits, from a day up to,
// not including, another.
func (rec *calendarRecords) yearLine(seasons []*scheduler.Season, first, end scheduler.Date, shown []*store.CalendarVisit) yearLine {
	line := yearLine{Days: int(end - first), Today: int(rec.today - first)}
	bands, stages := rec.stageBands(seasons, first, end)
	line.Bands = bands
	for on, of := range byDay(shown) {
		sign := signOf(&of[0].Visit)
		line.Marks = append(line.Marks, yearMark{int(on - first), "m-" + sign.Class, sign == signNobody})
	}
	slices.SortFunc(line.Marks, func(a, b yearMark) int { return cmp.Compare(a.At, b.At) })
	var counts []text.Text
	for _, c := range countSigns(shown) {
		counts = append(counts, c.Text)
	}
	if len(counts) == 0 {
		counts = []text.Text{text.New("page.rule-preview.no-visit")}
	}
	line.Says = text.New("page.calendar.line", stages, counts)
	return line
}

func visitsBetween(shown []*store.CalendarVisit, from, until scheduler.Date) (out []*store.CalendarVisit) {
	for _, v := range shown {
		if v.On >= from && v.On <= until {
			out = append(out, v)
		}
	}
	return out
}
