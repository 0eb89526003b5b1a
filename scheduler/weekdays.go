package scheduler

import (
	"slices"
	"strings"
	"time"
)

// WeekdaySet is a set of days of the week, one bit each, bit 0 Sunday.
type WeekdaySet uint8

// Has reports whether the set holds w; the empty set holds every day.
func (s WeekdaySet) Has(w time.Weekday) bool { return s == 0 || s&(1<<w) != 0 }

// WeekdayNames are the days of the week as files and forms name them, Sunday
// first.
var WeekdayNames = [7]string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}

// Names lists the days of the set; none for the empty set.
func (s WeekdaySet) Names() []string {
	var out []string
	for i, name := range WeekdayNames {
		if s&(1<<i) != 0 {
			out = append(out, name)
		}
	}
	return out
}

// ParseWeekdays reads the names of days, each once.
func ParseWeekdays(names []string) (set WeekdaySet, ok bool) {
	for _, name := range names {
		i := slices.Index(WeekdayNames[:], name)
		if i < 0 || set&(1<<i) != 0 {
			return 0, false
		}
		set |= 1 << i
	}
	return set, true
}

// String writes the names of the days as people type them: "sun, sat".
func (s WeekdaySet) String() string { return strings.Join(s.Names(), ", ") }

// splitWeekdays takes apart what String wrote, or a person typed.
func splitWeekdays(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ' ' })
}
