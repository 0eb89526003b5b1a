package web

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"pryday/scheduler"
)

// chosenVisits is whose visits somebody looks at.
type chosenVisits struct {
	person int64 // 0: everybody
	apiary int64 // 0: all
	chosen bool  // and no longer what the page begins with
}

// everybody stands for no one person in an address.
const everybody = "all"

// askedWhose reads it from an address. A keeper begins with their own visits, an
// organiser with the club's.
func askedWhose(q url.Values, club *scheduler.Club, who *visitor) (chosenVisits, error) {
	of := chosenVisits{chosen: q.Get("person") != ""}
	switch typed := q.Get("person"); typed {
	case "":
		if who.Role != scheduler.Organiser {
			of.person = who.MemberID
		}
	case everybody:
	default:
		if of.person = parseID(typed); club.Member(of.person) == nil {
			return of, newProblem(http.StatusNotFound, "problem.calendar-person", cut(typed))
		}
	}
	if typed := q.Get("apiary"); typed != "" {
		if of.apiary = parseID(typed); club.Apiary(of.apiary) == nil {
			return of, newProblem(http.StatusNotFound, "problem.calendar-apiary", cut(typed))
		}
	}
	return of, nil
}

// path leads to a page of the calendar with the same choice, and one more value
// in its address.
func (of chosenVisits) path(page, name, value string) string {
	q := url.Values{name: {value}}
	if of.chosen {
		q.Set("person", of.personValue())
	}
	if of.apiary != 0 {
		q.Set("apiary", itoa(of.apiary))
	}
	return page + "?" + q.Encode()
}

func (of chosenVisits) personValue() string {
	if of.person == 0 {
		return everybody
	}
	return itoa(of.person)
}

// isOf reports whether a visit is one of those: of a person the ones that they
// are expected on, and those at their apiaries that nobody goes to.
func (of chosenVisits) isOf(club *scheduler.Club, v *scheduler.Visit) bool {
	switch {
	case of.apiary != 0 && v.ApiaryID != of.apiary:
		return false
	case of.person == 0 || slices.Contains(v.Who, of.person):
		return true
	}
	a := club.Apiary(v.ApiaryID)
	return len(v.Who) == 0 && a != nil && slices.Contains(a.Keepers, of.person)
}

const monthLayout = "2006-01"

// askedMonth returns the first day of a month as an address names it, 2027-06.
func askedMonth(typed string) (scheduler.Date, error) {
	t, err := time.Parse(monthLayout, typed)
	first := scheduler.NewDate(t.Year(), t.Month(), 1)
	if err != nil || first < scheduler.MinDate || first > scheduler.MaxDate {
		return 0, newProblem(http.StatusBadRequest, "problem.not-a-month", cut(typed), scheduler.MinDate.Format(monthLayout), scheduler.MaxDate.Format(monthLayout))
	}
	return first, nil
}

// askedYear returns the first day of a year as an address names it, 2027.
func askedYear(typed string) (scheduler.Date, error) {
	year, err := strconv.Atoi(typed)
	if err != nil || len(typed) != 4 || year < scheduler.MinDate.Year() || year > scheduler.MaxDate.Year() {
		return 0, newProblem(http.StatusBadRequest, "problem.not-a-year", cut(typed), scheduler.MinDate.Year(), scheduler.MaxDate.Year())
	}
	return scheduler.NewDate(year, time.January, 1), nil
}

// monthOf returns the first day of the month that lies some months after that of
// a day.
func monthOf(d scheduler.Date, after int) scheduler.Date {
	year, month, _ := d.Civil()
	return scheduler.NewDate(year, month+time.Month(after), 1)
}
