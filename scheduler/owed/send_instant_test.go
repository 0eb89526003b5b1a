package owed

import (
	"fmt"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/testdata/testrun"
)

// someZones are those whose clocks change at midnight, by half or two hours, or
// around a month of fasting, and 20 drawn by lot; in the soak it is every zone.
func someZones(t *testing.T) []string {
	t.Helper()
	names := testrun.Zones(t)
	if testrun.Soak() {
		return names
	}
	testrun.Rand(t).Shuffle(len(names), func(i, j int) { names[i], names[j] = names[j], names[i] })
	return append(names[:20], "Africa/Cairo", "Africa/Casablanca", "America/Havana", "America/Nuuk", "America/Santiago",
		"America/St_Johns", "Antarctica/Troll", "Asia/Beirut", "Asia/Gaza", "Australia/Lord_Howe", "Europe/Dublin", "Pacific/Chatham")
}

// clockChanges are the instants from one to another at which a zone's clock
// may change.
func clockChanges(loc *time.Location, from, until time.Time) []time.Time {
	var out []time.Time
	for at := from.In(loc); ; {
		_, end := at.ZoneBounds()
		switch {
		case end.IsZero() || !end.Before(until):
			return out
		case !end.After(at): // a stop at the end of a year, which can lie behind
			at = at.Add(time.Hour)
		default:
			at = end
			out = append(out, at)
		}
	}
}

// ticks returns the five-minute ticks that can matter from one instant to
// another: all within two days of a change of the zone's clock, and on other
// days those around the hour given and the end of the local day.
func ticks(loc *time.Location, from, until time.Time, minute int) []time.Time {
	const step = 5 * time.Minute
	near := map[scheduler.Date]bool{}
	for _, c := range clockChanges(loc, from, until) {
		for d := scheduler.DateOf(c) - 2; d <= scheduler.DateOf(c)+2; d++ {
			near[d] = true
		}
	}
	var out []time.Time
	for at := from; at.Before(until); {
		local := at.In(loc)
		if near[scheduler.DateOf(local)] {
			out = append(out, at)
			at = at.Add(step)
			continue
		}
		// Straight to the next tick that matters on an ordinary day.
		now := local.Hour()*60 + local.Minute()
		next := 24*60 - now
		for _, m := range []int{24*60 - 15, minute} {
			for _, want := range []int{m - 5, m, m + 5} {
				if want > now && want-now < next {
					next = want - now
				}
			}
		}
		out = append(out, at)
		at = at.Add(max(step, time.Duration(next)*time.Minute/step*step))
	}
	return out
}

// behaviour names what a zone's clock does from one instant to another: the
// same for all links to one zone.
func behaviour(loc *time.Location, from, until time.Time) string {
	_, offset := from.In(loc).Zone()
	out := fmt.Sprint(offset)
	for _, c := range clockChanges(loc, from, until) {
		_, offset = c.Zone()
		out += fmt.Sprint(";", c.Unix(), offset)
	}
	return out
}

// TestDailyMailInEveryZone plays years of ticks in the zones of the IANA
// database, every one in the soak: each local day that exists there has its
// mail decided exactly once, not before the local hour.
func TestDailyMailInEveryZone(t *testing.T) {
	type span struct{ from, until string }
	years := span{"2026-01-01", "2029-01-01"}
	some := someZones(t)
	for _, tc := range []struct {
		name  string
		zones []string
		span  span
		at    scheduler.ClockTime
		skip  int // every so many ticks is missed; 0 for none
	}{
		{"every zone at 07:00, three years", some, years, 7 * 60, 0},
		{"every zone at 07:00, ticks missed", some, span{"2027-01-01", "2028-01-01"}, 7 * 60, 2},
		{"every zone in the jump of the clock", some, span{"2027-01-01", "2028-01-01"}, 2*60 + 30, 0},
		{"every zone at midnight", some, span{"2027-01-01", "2028-01-01"}, 0, 2},
		{"every zone at the last minute", some, span{"2027-01-01", "2028-01-01"}, 23*60 + 59, 2},
		{"Samoa skipped 30 December 2011", []string{"Pacific/Apia", "Pacific/Fakaofo"}, span{"2011-01-01", "2012-06-01"}, 7 * 60, 0},
		{"the clock went back over midnight in St John's until 2011", []string{"America/St_Johns"}, span{"2009-01-01", "2011-12-01"}, 0, 0},
		{"Kwajalein skipped 21 August 1993", []string{"Pacific/Kwajalein"}, span{"1993-01-01", "1994-01-01"}, 23*60 + 59, 2},
		{"Nuuk's day ends at 23:00 in spring", []string{"America/Nuuk"}, span{"2024-01-01", "2027-01-01"}, 23*60 + 30, 2},
	} {
		t.Run(tc.name, func(t *testing.T) {
			done := map[string]bool{}
			for _, name := range tc.zones {
				loc, err := time.LoadLocation(name)
				if err != nil {
					t.Fatal(err)
				}
				from, until := day(t, tc.span.from).At(0, loc), day(t, tc.span.until).At(0, loc)
				clock := behaviour(loc, from, until)
				if done[clock] {
					continue // a link to a zone already played
				}
				done[clock] = true
				playZone(t, name, loc, ticks(loc, from, until, int(tc.at)), tc.at, tc.skip)
			}
		})
	}
}

// playZone runs one member's ticks. The member always has something overdue,
// so that a mail is owed every day.
func playZone(t *testing.T, name string, loc *time.Location, at []time.Time, send scheduler.ClockTime, skip int) {
	t.Helper()
	c := mailClub()
	c.Members = []scheduler.Member{{ID: 2, Role: scheduler.Keeper, Timezone: name, Prefs: scheduler.Preferences{SendAt: &send}}}
	c.Rules.Reminders.OverdueEveryDays = 1
	p := &scheduler.Plan{Boxes: []scheduler.BoxState{{BoxID: 6, ApiaryID: 4, HiveID: 5, Due: 1, Overdue: true}}}
	keys := map[string]bool{}
	before := Before{Seen: func(k string) bool { return keys[k] }}
	owed := map[scheduler.Date]int{}
	exists := map[scheduler.Date]bool{}
	for i, now := range at {
		local := now.In(loc)
		today := scheduler.DateOf(local)
		exists[today] = true
		if skip > 0 && i%skip == 0 {
			continue
		}
		for _, m := range Decide(c, p, now, before) {
			if m.PassedOver != "" || m.On != today || len(m.Items) != 1 {
				t.Fatalf("%s, %s: got %+v", name, local, m)
			}
			if clock := local.Hour()*60 + local.Minute(); clock < int(send) && clock < 22*60+40 {
				t.Errorf("%s: the mail of %s went at %s, before its hour", name, m.On, local)
			}
			keys[m.Key] = true
			owed[m.On]++
			before.Told = m.Tells()
		}
		before.Since = now
	}
	for d := range exists {
		if owed[d] != 1 {
			t.Errorf("%s: the mail of %s was decided %d times", name, d, owed[d])
		}
	}
	for d := range owed {
		if !exists[d] {
			t.Errorf("%s: a mail for %s, which is no day there", name, d)
		}
	}
}

// TestDayThatWasSkipped: Samoa went from 29 to 31 December 2011. A reminder
// that falls on the 30th goes out on the 31st, and nothing is recorded for a
// day that was none.
func TestDayThatWasSkipped(t *testing.T) {
	loc, err := time.LoadLocation("Pacific/Apia")
	if err != nil {
		t.Fatal(err)
	}
	c := mailClub()
	c.Members[1].Timezone = "Pacific/Apia"
	p := &scheduler.Plan{Visits: []scheduler.Visit{{ID: 1, UID: "a", ApiaryID: 4, On: day(t, "2012-01-06"), Status: scheduler.Confirmed}}}
	names := map[int64]string{2: "keeper"}
	for _, tc := range []struct {
		name string
		now  time.Time
		want string
	}{
		{"the next day that exists", time.Date(2011, 12, 31, 7, 0, 0, 0, loc), "[12-31 keeper: caught-up 01-06]"},
		{"down until the nearer one", time.Date(2012, 1, 5, 7, 0, 0, 0, loc), "[01-05 keeper: days-before 01-06]"},
	} {
		before := Before{Since: time.Date(2011, 12, 29, 6, 0, 0, 0, loc)}
		if got := fmt.Sprint(said(Decide(c, p, tc.now, before), names)); got != tc.want {
			t.Errorf("%s: %s, want %s", tc.name, got, tc.want)
		}
	}
}
