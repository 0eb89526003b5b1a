package calendar

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/emersion/go-ical"
)

// yearsAhead is how far a yearly rule is proven: long enough for every month
// to have had a year with five of each weekday, and short of where
// ZoneBounds becomes unsure.
const yearsAhead = 8

// yearly returns the two observances of a zone that changes twice a year by
// rule, from the change before first on, or nil for any other zone.
func yearly(first time.Time) []*ical.Component {
	at := lastChange(first.Add(-time.Second))
	var kinds [2][]change
	for i := range 2 * yearsAhead {
		if at.IsZero() {
			return nil
		}
		kinds[i%2] = append(kinds[i%2], changeAt(at))
		at = nextChange(at)
	}
	var out []*ical.Component
	for _, kind := range kinds {
		rule := weekdayRule(kind)
		if rule == "" {
			return nil
		}
		out = append(out, observance(kind[0], kind[0].onset(), rule))
	}
	return out
}

// weekdayRule returns the RRULE that gives all the changes, one a year on a
// numbered weekday of a month at one time of day, or "" if there is none.
func weekdayRule(changes []change) string {
	first := changes[0].onset()
	nth, last := (first.Day()-1)/7+1, true
	for i, c := range changes {
		t := c.onset()
		if t.Year() != first.Year()+i || t.Month() != first.Month() || t.Weekday() != first.Weekday() ||
			!slices.Equal([]int{t.Hour(), t.Minute(), t.Second(), c.from, c.to}, []int{first.Hour(), first.Minute(), first.Second(), changes[0].from, changes[0].to}) ||
			c.name != changes[0].name || c.daylight != changes[0].daylight {
			return ""
		}
		if (t.Day()-1)/7+1 != nth {
			nth = 0
		}
		last = last && t.AddDate(0, 0, 7).Month() != t.Month()
	}
	day := strings.ToUpper(first.Weekday().String()[:2])
	switch {
	case nth > 0:
		day = strconv.Itoa(nth) + day
	case last:
		day = "-1" + day
	default:
		return ""
	}
	return fmt.Sprintf("FREQ=YEARLY;BYMONTH=%d;BYDAY=%s", first.Month(), day)
}
