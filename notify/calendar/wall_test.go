package calendar

import (
	"testing"
	"time"

	"pryday/scheduler"
)

// TestWallAtClockChanges: Europe/Dublin put its clocks forward at 1:00 on 28
// March 2027 and back at 2:00 on 31 October (Directive 2000/84/EC: 1:00 UTC,
// the last Sundays). A time that comes twice is the first, one that is left out
// counts by the offset before (RFC 5545, 3.3.5).
func TestWallAtClockChanges(t *testing.T) {
	loc, err := time.LoadLocation("Europe/Dublin")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		on     scheduler.Date
		minute int
		want   string // UTC
	}{
		{scheduler.NewDate(2027, 10, 31), 90, "2027-10-31T00:30:00Z"},
		{scheduler.NewDate(2027, 10, 31), 120, "2027-10-31T02:00:00Z"},
		{scheduler.NewDate(2027, 3, 28), 90, "2027-03-28T01:30:00Z"},
		{scheduler.NewDate(2027, 3, 28), 59, "2027-03-28T00:59:00Z"},
	} {
		if got := wall(tt.on, tt.minute, loc).UTC().Format(time.RFC3339); got != tt.want {
			t.Errorf("minute %d of %s is %s, want %s", tt.minute, tt.on, got, tt.want)
		}
	}
	e := Event{On: scheduler.NewDate(2027, 3, 28), Hours: &scheduler.HoursOfDay{From: 65, Until: 120}}
	if from, until := e.span(loc); until.Sub(from) != 55*time.Minute {
		t.Errorf("a visit that begins within the hour left out lasts from %s to %s", from, until)
	}
}

// TestWeekdayRuleOfUnlikeYears: one rule is all years' or none's.
func TestWeekdayRuleOfUnlikeYears(t *testing.T) {
	at := func(y int, m time.Month, d int) change {
		return change{at: time.Date(y, m, d, 1, 0, 0, 0, time.UTC), from: 0, to: 3600, name: "IST", daylight: true}
	}
	sundays := []change{at(2028, 3, 26), at(2029, 3, 25), at(2030, 3, 31)}
	if got := weekdayRule(sundays); got != "FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU" {
		t.Errorf("the last Sundays of March: %q", got)
	}
	if got := weekdayRule([]change{at(2027, 3, 28), at(2028, 3, 27), at(2029, 3, 25)}); got != "" {
		t.Errorf("one Monday among Sundays: %q", got)
	}
}

// TestOffsetsWithSeconds: RFC 5545, 3.3.14, allows them, and zones before
// standard time have them.
func TestOffsetsWithSeconds(t *testing.T) {
	for seconds, want := range map[int]string{0: "+0000", -1521: "-002521", 20700: "+0545", -12600: "-0330"} {
		if got := utcOffset(seconds); got != want {
			t.Errorf("%d s: %s, want %s", seconds, got, want)
		}
	}
}

// TestAddressesInFeeds: a link leads to a page or is refused.
func TestAddressesInFeeds(t *testing.T) {
	for address, ok := range map[string]bool{
		"": true, "https://hives.example/visit/1": true, "http://hives.example": true,
		"javascript://hives.example/%0aalert(1)": false, "ftp://hives.example/a": false, "/visit/1": false, "https://": false, "https://hives.example/a b": false,
	} {
		if err := checkAddress(address); (err == nil) != ok {
			t.Errorf("%q: %v", address, err)
		}
	}
}
