package text

import (
	"strconv"
	"strings"
	"time"
)

// dayForm writes a day as a form of a [language] section says: "{day} {month}".
func (s *Speaker) dayForm(form string, d Day) string {
	t := s.tongue()
	year, month, day := d.Civil()
	var out strings.Builder
	for form != "" {
		before, rest, found := strings.Cut(form, "{")
		out.WriteString(before)
		if !found {
			break
		}
		var part string
		part, form, _ = strings.Cut(rest, "}")
		switch part {
		case "weekday":
			out.WriteString(t.Weekdays[d.Weekday()])
		case "day":
			out.WriteString(strconv.Itoa(day))
		case "month":
			out.WriteString(t.Months[month-1])
		case "mon":
			out.WriteString(t.MonthsShort[month-1])
		case "year":
			out.WriteString(strconv.Itoa(year))
		}
	}
	return out.String()
}

// Day writes a day in full, with its weekday: Saturday 6 March 2027.
func (s *Speaker) Day(d Day) string { return s.dayForm(s.tongue().Day, d) }

// ShortDay writes a day without its year: Saturday 6 March.
func (s *Speaker) ShortDay(d Day) string { return s.dayForm(s.tongue().DayShort, d) }

// PlainDay writes a day without its weekday: 6 March 2027. A terse speaker
// shortens it: 6 Mar 2027, or 6 Mar in the year that it speaks in.
func (s *Speaker) PlainDay(d Day) string {
	t := s.tongue()
	year, _, _ := d.Civil()
	switch {
	case !s.terse:
		return s.dayForm(t.DayPlain, d)
	case year == s.year:
		return s.dayForm(t.DayTerseNear, d)
	}
	return s.dayForm(t.DayTerse, d)
}

// YearDay writes a day of any year: 6 March.
func (s *Speaker) YearDay(d Day) string { return s.dayForm(s.tongue().DayOfYear, d) }

// Month writes the name of a day's month: March.
func (s *Speaker) Month(d Day) string {
	_, month, _ := d.Civil()
	return s.tongue().Months[month-1]
}

// Weekday writes the short name of a day's weekday: Sat.
func (s *Speaker) Weekday(d Day) string { return s.tongue().WeekdaysShort[d.Weekday()] }

// Weekdays returns the names of the days of the week, Sunday first.
func (s *Speaker) Weekdays() [7]string { return s.tongue().Weekdays }

// FirstWeekday returns the day with which a week begins where the language is
// spoken.
func (s *Speaker) FirstWeekday() time.Weekday { return s.tongue().FirstWeekday }

// Months returns the names of the months, January first.
func (s *Speaker) Months() [12]string { return s.tongue().Months }

// ShortMonths returns the short names of the months, January first.
func (s *Speaker) ShortMonths() [12]string { return s.tongue().MonthsShort }

// Terse returns a speaker of the same language that writes days for narrow
// columns, and leaves out one year; 0 for none.
func (s *Speaker) Terse(year int) *Speaker {
	t := *s
	t.terse, t.year = true, year
	return &t
}
