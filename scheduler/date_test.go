package scheduler

import (
	"encoding/json"
	"testing"
	"time"

	"pgregory.net/rapid"

	_ "pryday/testdata/testrun" // the same zones and lots in every run
)

func TestDatesAreCivilDays(t *testing.T) {
	tests := []struct {
		year    int
		month   time.Month
		day     int
		text    string
		weekday time.Weekday
	}{
		{1, 1, 1, "0001-01-01", time.Monday},
		{1800, 1, 1, "1800-01-01", time.Wednesday},
		{1970, 1, 1, "1970-01-01", time.Thursday},
		{2000, 2, 29, "2000-02-29", time.Tuesday},
		{2027, 2, 29, "2027-03-01", time.Monday}, // normalised
		{2027, 12, 31, "2027-12-31", time.Friday},
		{2200, 12, 31, "2200-12-31", time.Wednesday},
	}
	for _, test := range tests {
		d := NewDate(test.year, test.month, test.day)
		if d.String() != test.text || d.Weekday() != test.weekday {
			t.Errorf("%d-%d-%d is %v, a %v; want %s, a %v", test.year, test.month, test.day, d, d.Weekday(), test.text, test.weekday)
		}
	}
	if MinDate.String() != "1800-01-01" || MaxDate.String() != "2200-12-31" {
		t.Errorf("dates run from %v to %v", MinDate, MaxDate)
	}
	if got := Date(0).String(); got != "" || !Date(0).IsZero() {
		t.Errorf("the zero date is written %q", got)
	}
}

func TestParseDate(t *testing.T) {
	for _, text := range []string{"1800-01-01", "2027-05-31", "2028-02-29", "2200-12-31"} {
		if d, err := ParseDate(text); err != nil || d.String() != text {
			t.Errorf("%s reads as %v, %v", text, d, err)
		}
	}
	for _, text := range []string{"", "2027-02-29", "2027-5-31", "31.05.2027", "1799-12-31", "2201-01-01", "2027-05-31T00:00:00Z", "20270531"} {
		if d, err := ParseDate(text); err == nil {
			t.Errorf("%q reads as %v", text, d)
		}
	}
}

func TestDatesAgreeWithPackageTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := MinDate + Date(spread(t, "day", int(MaxDate-MinDate)+1))
		want := time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, int(d-daysToUnixEpoch))
		y, m, day := d.Civil()
		if wy, wm, wd := want.Date(); y != wy || m != wm || day != wd || d.Weekday() != want.Weekday() {
			t.Fatalf("day %d is %v, want %v", d, d, want)
		}
		if yearOf(d) != y || newYear(y) != NewDate(y, 1, 1) || d.Year() != y {
			t.Fatalf("%v: year %d from %v", d, yearOf(d), newYear(y))
		}
		if leap := newYear(y+1)-newYear(y) == 366; leap != isLeap(y) {
			t.Fatalf("%d is a leap year: %t", y, isLeap(y))
		}
		if m := (MonthDay{m, day}); m.In(y) != d || newYear(y)+Date(m.dayOf(y)) != d {
			t.Fatalf("%v is day %g of its year", d, m.dayOf(y))
		}
		b, err := json.Marshal(d)
		var back Date
		if err != nil || json.Unmarshal(b, &back) != nil || back != d {
			t.Fatalf("%v is written %s and read %v", d, b, back)
		}
	})
}

func TestYearsFarAway(t *testing.T) {
	for _, year := range []int{-400, -1, 0, 1, 4, 100, 400, 1600, 1900, 9999} {
		first := newYear(year)
		if yearOf(first) != year || yearOf(first-1) != year-1 || first != NewDate(year, 1, 1) {
			t.Errorf("year %d begins on day %d, in year %d after %d", year, first, yearOf(first), yearOf(first-1))
		}
	}
}

// A local minute of the day names an instant even where the clock jumps.
func TestAtOverClockChanges(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		on     Date
		minute int
		want   string
	}{
		{NewDate(2027, 3, 28), 7 * 60, "2027-03-28T07:00:00+02:00"},
		{NewDate(2027, 3, 28), 2*60 + 30, "2027-03-28T03:30:00+02:00"}, // the hour that is not there
		{NewDate(2027, 10, 31), 7 * 60, "2027-10-31T07:00:00+01:00"},
	}
	for _, test := range tests {
		if got := test.on.At(test.minute, zone).Format(time.RFC3339); got != test.want {
			t.Errorf("minute %d of %v is %s, want %s", test.minute, test.on, got, test.want)
		}
	}
}
