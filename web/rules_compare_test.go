package web

import (
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// A difference is that of the numbers beside it.
func TestDifferencesAreOfTheNumbersShown(t *testing.T) {
	say := text.In("en", "")
	for _, c := range []struct {
		now, then float64
		digits    int
		want      previewNumber
	}{
		{104.6, 104.4, 0, previewNumber{"hours", "105", "104", "1 fewer"}},
		{19.64, 18.96, 1, previewNumber{"hours", "19.6", "19.0", "0.6 fewer"}},
		{18.96, 19.64, 1, previewNumber{"hours", "19.0", "19.6", "0.6 more"}},
		{19.04, 18.96, 1, previewNumber{"hours", "19.0", "19.0", "the same"}},
	} {
		var v previewView
		if v.number(say, "command.rules.hours", c.now, c.then, c.digits); v.Numbers[0] != c.want {
			t.Errorf("%v and %v are shown as %v, want %v", c.now, c.then, v.Numbers[0], c.want)
		}
	}
}

func TestDaysOfOtherYearsHaveTheirYear(t *testing.T) {
	say, today := text.In("en", ""), scheduler.NewDate(2027, 12, 30)
	for d, want := range map[scheduler.Date]string{today + 1: "Friday 31 December", today + 2: "Saturday 1 January 2028"} {
		if got := dayFrom(say, today, d); got != want {
			t.Errorf("%s is %q, want %q", d, got, want)
		}
	}
}
