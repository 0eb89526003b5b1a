package notebook

import (
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"pryday/scheduler"
)

// Order says what stands first in days like 03/04/2025.
type Order string

// The orders. Days with dots between the numbers are written day first wherever
// they are in use (CLDR's date formats, from memory), and with the year in front
// the month follows.
const (
	DayFirst   Order = "day-first"
	MonthFirst Order = "month-first"
)

// reading is what a cell says of a day.
type reading struct {
	day   scheduler.Date
	other scheduler.Date // the day it would be in the other order; 0 where there is one alone
	order Order          // the order in which alone it is a day; empty where it needs none
}

var (
	clockTime = regexp.MustCompile(`[ T]+\d{1,2}:\d\d(:\d\d(\.\d+)?)?( ?[ap]m|Z| Uhr)?$`)
	yearFirst = regexp.MustCompile(`^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$`)
	yearLast  = regexp.MustCompile(`^(\d{1,2})([-/.]) ?(\d{1,2})[-/.] ?(\d{4}|\d\d)$`)
	dayNamed  = regexp.MustCompile(`^(\d{1,2})(?:\.|st|nd|rd|th)?[ -]*(\pL+)\.?,?[ -]*(\d{4}|\d\d)$`)
	nameFirst = regexp.MustCompile(`^(\pL+)\.?[ -]*(\d{1,2})(?:st|nd|rd|th)?,?[ -]+(\d{4}|\d\d)$`)
)

// dayOf reads a day in the ways that people write one. A year of two digits is
// the last such year up to today's.
func dayOf(s string, today scheduler.Date) (reading, bool) {
	s = withoutWeekday(clockTime.ReplaceAllString(strings.TrimSpace(s), ""))
	if m := yearFirst.FindStringSubmatch(s); m != nil {
		d, ok := civil(m[1], number(m[2]), m[3], today)
		return reading{day: d}, ok
	}
	if m := yearLast.FindStringSubmatch(s); m != nil {
		return numbers(m[1], m[2], m[3], m[4], today)
	}
	if m := dayNamed.FindStringSubmatch(s); m != nil {
		d, ok := civil(m[3], month(m[2]), m[1], today)
		return reading{day: d}, ok
	}
	if m := nameFirst.FindStringSubmatch(s); m != nil {
		d, ok := civil(m[3], month(m[1]), m[2], today)
		return reading{day: d}, ok
	}
	return reading{}, false
}

// numbers reads a day of three numbers with the year last.
func numbers(a, sign, b, year string, today scheduler.Date) (reading, bool) {
	day, dayOK := civil(year, number(b), a, today)
	if sign == "." {
		return reading{day: day}, dayOK
	}
	other, otherOK := civil(year, number(a), b, today)
	switch {
	case dayOK && otherOK && day != other:
		return reading{day: day, other: other}, true
	case dayOK && otherOK: // 4/4/2025
		return reading{day: day}, true
	case dayOK:
		return reading{day: day, order: DayFirst}, true
	case otherOK:
		return reading{day: other, order: MonthFirst}, true
	}
	return reading{}, false
}

func civil(year string, month int, day string, today scheduler.Date) (scheduler.Date, bool) {
	y, d := number(year), number(day)
	if len(year) == 2 {
		y += today.Year() / 100 * 100
		if y > today.Year() {
			y -= 100
		}
	}
	date := scheduler.NewDate(y, time.Month(month), d)
	_, gotMonth, _ := date.Civil() // another where the month has no such day, or the year no such month
	ok := int(gotMonth) == month && date >= scheduler.MinDate && date <= scheduler.MaxDate
	if !ok {
		return 0, false
	}
	return date, true
}

func number(s string) int {
	n, _ := strconv.Atoi(s)
	return n
}

// month finds a month by its name or the beginning of it, at least three letters.
func month(s string) int {
	s = fold(s)
	for _, m := range known().months {
		if m.name == s || utf8.RuneCountInString(s) >= 3 && strings.HasPrefix(m.name, s) {
			return m.nth
		}
	}
	return 0
}

// withoutWeekday takes off what day of the week it was.
func withoutWeekday(s string) string {
	at := strings.IndexFunc(s, func(r rune) bool { return !unicode.IsLetter(r) })
	if at > 0 && known().weekdays[fold(s[:at])] {
		return strings.TrimLeft(s[at:], "., ")
	}
	return s
}

// BothDays are what a day of three numbers is in either order; ok is false where it
// is one day alone.
func BothDays(s string, today scheduler.Date) (dayFirst, monthFirst scheduler.Date, ok bool) {
	got, _ := dayOf(s, today)
	return got.day, got.other, got.other != 0
}
