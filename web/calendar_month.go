package web

import (
	"net/http"
	"slices"
	"strconv"
	"time"

	"pryday/scheduler"
	"pryday/store"
)

// What a month shows, so that it stays light in a club of hundreds of apiaries:
// the rest of a day stands on a page of its own.
const (
	monthMost    = 150 // visits
	dayMost      = 12  // of a day
	dayLeast     = 2   // of a day, however many the month has
	printDayMost = 4   // of a day on paper, where a month is one page
)

const (
	monthPage = "/month"
	yearPage  = "/year"
	dayPage   = "/day"
)

// monthView is one month: a table of its weeks, which a phone shows as a list.
type monthView struct {
	calendarNav
	Whose    whoseView
	Counts   []signCount
	May      bool // one of them may still move
	Weekdays []string
	Weeks    []monthWeek
	Stages   bool // there is an apiary
	Begins   []string
	Work     *workView
	Next     step // to the month of the club's next visit, where this one has none
}

// calendarNav leads to what is before and after.
type calendarNav struct {
	Before, After, Now, Up step
}

// step is a link; without a path there is nowhere to go.
type step struct{ Path, Name string }

type monthWeek struct {
	Name   string // its days
	Number int    // as ISO 8601 counts, where weeks begin as there; 0 else
	Stages string
	Days   []monthDay
	Empty  bool // nothing of the month is in it
}

type monthDay struct {
	ISO       string
	Weekday   string // in short
	Day       int
	Month     string // in short, of a day of another month
	Class     string
	Today     bool
	Entries   []calendarEntry
	More      int    // that are not shown
	PrintMore int    // that are not shown on paper
	Path      string // of the page of all, where some are not shown
	Full      string
}

func (s *Server) month(w http.ResponseWriter, r *http.Request, who *visitor) error {
	typed := r.URL.Query().Get("month")
	first, last := monthOf(s.earliest(), 0), monthOf(s.earliest()+2, 0)
	if typed != "" {
		var err error
		if first, err = askedMonth(typed); err != nil {
			return err
		}
		last = first
	}
	rec, err := s.calendarRecords(r, who, first-7, monthOf(last, 1)+7)
	if err != nil {
		return err
	}
	if typed == "" {
		first = monthOf(rec.today, 0)
	}
	return s.showTo(w, r, who, rec.club, http.StatusOK, "month", rec.monthName(first), rec.monthView(first))
}

// monthName says a month with its year.
func (rec *calendarRecords) monthName(first scheduler.Date) string {
	return rec.say.Month(first) + " " + strconv.Itoa(first.Year())
}

func (rec *calendarRecords) monthView(first scheduler.Date) monthView {
	from := first - scheduler.Date((first.Weekday()-rec.say.FirstWeekday()+7)%7)
	end := monthOf(first, 1)
	until := from + (end-from+6)/7*7 - 1
	shown := rec.shown(first, end-1)
	v := monthView{
		calendarNav: rec.monthNav(first), Whose: rec.whoseView(monthPage, "month", first.Format(monthLayout)),
		Counts: countSigns(shown), May: anyMayMove(shown),
	}
	apiaries := rec.apiaries(shown)
	seasons := rec.seasons(apiaries)
	v.Stages, v.Begins = len(seasons) > 0, rec.begins(apiaries, seasons, first, end-1)
	for n := range scheduler.Date(7) {
		v.Weekdays = append(v.Weekdays, rec.say.Weekdays()[(from+n).Weekday()])
	}
	days := byDay(rec.shown(from, until))
	most := mostOfADay(days)
	for week := from; week <= until; week += 7 {
		v.Weeks = append(v.Weeks, rec.monthWeek(week, first, seasons, days, most))
	}
	v.Work = rec.work(first, end-1)
	if next := rec.nextAfter(end); len(shown) == 0 && next != 0 {
		v.Next = step{chosenVisits{chosen: true}.path(monthPage, "month", next.Format(monthLayout)), rec.say.Day(next)}
	}
	return v
}

func (rec *calendarRecords) monthNav(first scheduler.Date) calendarNav {
	to := func(month scheduler.Date, name string) step {
		if month < monthOf(scheduler.MinDate, 0) || month > scheduler.MaxDate {
			return step{}
		}
		return step{rec.of.path(monthPage, "month", month.Format(monthLayout)), name}
	}
	name := func(month scheduler.Date) string {
		if month.Year() == first.Year() {
			return rec.say.Month(month)
		}
		return rec.monthName(month)
	}
	before, after, year := monthOf(first, -1), monthOf(first, 1), strconv.Itoa(first.Year())
	nav := calendarNav{
		Before: to(before, name(before)), After: to(after, name(after)),
		Up: step{rec.of.path(yearPage, "year", year), rec.say.Say("page.calendar.to-year", year)},
	}
	nav.Now = step{"#today", rec.say.Say("page.form.today")}
	if now := monthOf(rec.today, 0); now != first {
		nav.Now = to(now, rec.say.Say("page.calendar.this-month"))
	}
	return nav
}

// nextAfter is the day of the club's first open visit from a day on; 0 for none.
func (rec *calendarRecords) nextAfter(from scheduler.Date) scheduler.Date {
	for i := range rec.visits { // some days behind the month are read
		if v := &rec.visits[i]; v.On >= from && v.Status.Open() {
			return v.On
		}
	}
	return rec.after
}

// byDay sorts visits into days, in the order in which a day shows them.
func byDay(shown []*store.CalendarVisit) map[scheduler.Date][]*store.CalendarVisit {
	days := map[scheduler.Date][]*store.CalendarVisit{}
	for _, v := range shown {
		days[v.On] = append(days[v.On], v)
	}
	for _, of := range days {
		slices.SortStableFunc(of, byUrgency)
	}
	return days
}

// mostOfADay is how many visits of each day a month has room for.
func mostOfADay(days map[scheduler.Date][]*store.CalendarVisit) int {
	for most := dayMost; most > dayLeast; most-- {
		all := 0
		for _, of := range days {
			all += min(len(of), most)
		}
		if all <= monthMost {
			return most
		}
	}
	return dayLeast
}

func (rec *calendarRecords) monthWeek(from, month scheduler.Date, seasons []*scheduler.Season, days map[scheduler.Date][]*store.CalendarVisit, most int) monthWeek {
	w := monthWeek{Name: rec.daysFrom(from, 7), Stages: rec.weekStages(seasons, from), Empty: true}
	if rec.say.FirstWeekday() == time.Monday {
		_, w.Number = from.At(0, time.UTC).ISOWeek()
	}
	for on := from; on < from+7; on++ {
		day := rec.monthDay(on, month, days[on], most)
		if stages, ok := stagesOn(seasons, on); ok {
			day.Class = stages.class() + day.Class
		}
		w.Empty = w.Empty && (len(day.Entries) == 0 || monthOf(on, 0) != month)
		w.Days = append(w.Days, day)
	}
	return w
}

func (rec *calendarRecords) monthDay(on, month scheduler.Date, of []*store.CalendarVisit, most int) monthDay {
	_, _, n := on.Civil()
	d := monthDay{ISO: on.String(), Weekday: rec.say.Weekday(on), Day: n, Today: on == rec.today, Full: rec.say.Day(on)}
	switch {
	case monthOf(on, 0) != month:
		d.Class, d.Month = " out", rec.say.Terse(on.Year()).PlainDay(on)
	case len(of) == 0 && !d.Today:
		d.Class = " free"
	}
	if d.Today {
		d.Class += " today"
	}
	for _, v := range of[:min(len(of), most)] {
		d.Entries = append(d.Entries, rec.entry(&v.Visit))
	}
	if d.More = len(of) - len(d.Entries); d.More > 0 {
		d.Path = rec.of.path(dayPage, "day", d.ISO)
	}
	d.PrintMore = max(len(of)-printDayMost, 0)
	return d
}

// daysFrom says which days some days are, in short.
func (rec *calendarRecords) daysFrom(first scheduler.Date, n int) string {
	last := first + scheduler.Date(n) - 1
	terse := rec.say.Terse(first.Year())
	if _, _, day := first.Civil(); monthOf(first, 0) == monthOf(last, 0) {
		return rec.say.Say("page.calendar.days-of-month", day, terse.PlainDay(last))
	}
	return rec.say.Say("page.calendar.days", terse.PlainDay(first), terse.PlainDay(last))
}
