package web

import (
	"net/http"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// dayPageMost is how many visits the page of a day lists.
const dayPageMost = 300

// dayView is all that is to be done, or was, on one day.
type dayView struct {
	calendarNav
	Whose   whoseView
	Counts  []signCount
	May     bool
	Entries []calendarEntry
	More    int
}

func (s *Server) day(w http.ResponseWriter, r *http.Request, who *visitor) error {
	typed := r.URL.Query().Get("day")
	on, err := scheduler.ParseDate(typed)
	if typed != "" && err != nil {
		return newProblem(http.StatusBadRequest, "problem.not-a-calendar-day", cut(typed), scheduler.MinDate.String(), scheduler.MaxDate.String())
	}
	from, until := on, on
	if typed == "" {
		from, until = s.earliest(), s.earliest()+2
	}
	rec, err := s.calendarRecords(r, who, from, until)
	if err != nil {
		return err
	}
	if typed == "" {
		on = rec.today
	}
	return s.showTo(w, r, who, rec.club, http.StatusOK, "day", rec.say.Day(on), rec.dayView(on))
}

func (rec *calendarRecords) dayView(on scheduler.Date) dayView {
	shown := byDay(rec.shown(on, on))[on]
	v := dayView{
		Whose: rec.whoseView(dayPage, "day", on.String()), Counts: countSigns(shown), May: anyMayMove(shown),
		More: max(len(shown)-dayPageMost, 0),
	}
	for _, c := range shown[:len(shown)-v.More] {
		v.Entries = append(v.Entries, rec.entry(&c.Visit))
	}
	near := rec.say.Terse(on.Year())
	to := func(day scheduler.Date) step {
		if day < scheduler.MinDate || day > scheduler.MaxDate {
			return step{}
		}
		return step{rec.of.path(dayPage, "day", day.String()), near.Tell(text.New("page.calendar.day", text.Weekday(day), day))}
	}
	v.Before, v.After = to(on-1), to(on+1)
	v.Up = step{rec.of.path(monthPage, "month", on.Format(monthLayout)), rec.monthName(on)}
	return v
}
