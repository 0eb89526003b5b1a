package calendar

import (
	"bufio"
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-ical"
	"github.com/teambition/rrule-go"

	"pryday/scheduler"
	"pryday/testdata/testrun"
)

// observed is one observance of a VTIMEZONE as a reader of the feed has it.
type observed struct {
	from, to int
	onsets   []time.Time // local times as if UTC, in order
}

// readZones reads the VTIMEZONEs of a feed and expands their rules, without
// any zone database.
func readZones(t *testing.T, cal *ical.Calendar, until time.Time) map[string][]observed {
	t.Helper()
	out := map[string][]observed{}
	for _, c := range cal.Children {
		if c.Name != ical.CompTimezone {
			continue
		}
		name := c.Props.Get(ical.PropTimezoneID).Value
		if out[name] != nil {
			t.Errorf("zone %s is described twice", name)
		}
		for _, o := range c.Children {
			start, err := time.Parse("20060102T150405", o.Props.Get(ical.PropDateTimeStart).Value)
			if err != nil {
				t.Fatal(err)
			}
			x := observed{from: readOffset(t, o, ical.PropTimezoneOffsetFrom), to: readOffset(t, o, ical.PropTimezoneOffsetTo), onsets: []time.Time{start}}
			if p := o.Props.Get(ical.PropRecurrenceRule); p != nil {
				option, err := rrule.StrToROption(p.Value)
				if err != nil {
					t.Fatal(err)
				}
				option.Dtstart = start
				rule, err := rrule.NewRRule(*option)
				if err != nil {
					t.Fatal(err)
				}
				x.onsets = rule.Between(start, until, true)
				if len(x.onsets) == 0 || !x.onsets[0].Equal(start) {
					t.Fatalf("%s: DTSTART %s is no day of its own rule %s", name, start, p.Value)
				}
			}
			out[name] = append(out[name], x)
		}
	}
	return out
}

func readOffset(t *testing.T, c *ical.Component, name string) int {
	t.Helper()
	s := c.Props.Get(name).Value
	var sign rune
	var h, m, sec int
	if n, err := fmt.Sscanf(s, "%c%2d%2d%2d", &sign, &h, &m, &sec); n < 3 {
		t.Fatalf("offset %q: %v", s, err)
	}
	if seconds := h*3600 + m*60 + sec; sign == '-' {
		return -seconds
	} else {
		return seconds
	}
}

// instant reads a local time by a feed's own description of the zone: the
// observance with the latest onset not after it (RFC 5545, 3.6.5).
func instant(t *testing.T, zone []observed, wall time.Time) time.Time {
	t.Helper()
	var latest time.Time
	offset, found := 0, false
	for _, o := range zone {
		for _, onset := range o.onsets {
			if !onset.After(wall) && (!found || onset.After(latest)) {
				latest, offset, found = onset, o.to, true
			}
		}
	}
	if !found {
		t.Fatalf("no observance covers %s", wall)
	}
	return wall.Add(-time.Duration(offset) * time.Second)
}

// start reads where an event begins: the wall time it writes and the instant.
func start(t *testing.T, c *ical.Component, zones map[string][]observed) (string, time.Time) {
	t.Helper()
	p := c.Props.Get(ical.PropDateTimeStart)
	wall, err := time.Parse("20060102T150405", p.Value)
	if err != nil {
		t.Fatal(err)
	}
	return p.Value, instant(t, zones[p.Params.Get(ical.ParamTimezoneID)], wall)
}

// The nights of clock changes in both hemispheres, by the zone rules of ICU
// (testdata/zones.mjs) of the same release as those that the feed is made by:
// a reader that knows only the feed's own description of the zone finds the
// same instants.
func TestClockChangesAgainstICU(t *testing.T) {
	file, err := os.Open("testdata/zones-" + testrun.ZoneRelease + ".csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var rows []clockReading
	for lines := bufio.NewScanner(file); lines.Scan(); {
		row := strings.Split(lines.Text(), ",")
		wall, err := time.Parse("2006-01-02T15:04", row[1])
		if err != nil {
			t.Fatal(err)
		}
		at, err := time.Parse("2006-01-02T15:04Z", row[2])
		if err != nil {
			t.Fatal(err)
		}
		rows = append(rows, clockReading{row[0], wall, at})
	}
	if len(rows) < 4000 {
		t.Fatalf("only %d rows", len(rows))
	}
	for form, prefix := range map[string]string{"slim": "", "fat": fat} {
		t.Run(form, func(t *testing.T) {
			// Three feeds: no one is near the size at which events are left out.
			for part := range 3 {
				var some []clockReading
				for i, r := range rows {
					if i%3 == part {
						some = append(some, clockReading{prefix + r.zone, r.wall, r.at})
					}
				}
				readBack(t, Feed{}, some)
			}
		})
	}
}

// clockReading is what clocks in a zone show at an instant.
type clockReading struct {
	zone string
	wall time.Time // as if UTC
	at   time.Time
}

// readBack renders a feed with an event at each reading and checks that its
// own description of the zones has each begin at the right instant.
func readBack(t *testing.T, f Feed, readings []clockReading) *ical.Calendar {
	t.Helper()
	want := map[string]time.Time{}
	for i, r := range readings {
		e := event(fmt.Sprint("e", i), scheduler.DateOf(r.wall))
		minute := scheduler.ClockTime(r.wall.Hour()*60 + r.wall.Minute())
		e.Zone, e.Hours = r.zone, &scheduler.HoursOfDay{From: minute, Until: minute + 29}
		want[e.UID+uidDomain] = r.at
		f.Events = append(f.Events, e)
	}
	cal, err := ical.NewDecoder(bytes.NewReader(render(t, f))).Decode()
	if err != nil {
		t.Fatal(err)
	}
	zones := readZones(t, cal, time.Date(2031, 1, 1, 0, 0, 0, 0, time.UTC))
	n := 0
	for _, c := range cal.Children {
		if c.Name != ical.CompEvent {
			continue
		}
		n++
		uid := c.Props.Get(ical.PropUID).Value
		if wall, got := start(t, c, zones); !got.Equal(want[uid]) {
			p := c.Props.Get(ical.PropDateTimeStart)
			t.Errorf("%s %s is read as %s, not %s", p.Params.Get(ical.ParamTimezoneID), wall, got, want[uid])
		}
	}
	if n != len(readings) {
		t.Errorf("%d events of %d", n, len(readings))
	}
	return cal
}

// Every IANA zone: read by the feed's own description, morning visits through
// two years fall on the instants that Go gives, and the description is short.
func TestEveryZone(t *testing.T) {
	for _, name := range testrun.Zones(t) {
		for _, name := range []string{name, fat + name} {
			loc, err := time.LoadLocation(name)
			if err != nil {
				t.Fatal(err)
			}
			var readings []clockReading
			for on := day(2026, 11, 25); on < day(2028, 11, 25); on += 30 {
				readings = append(readings, clockReading{name, on.At(9*60, time.UTC), on.At(9*60, loc)})
			}
			cal := readBack(t, Feed{Name: name}, readings)
			for _, c := range cal.Children {
				if k := len(c.Children); c.Name == ical.CompTimezone && k > 10 {
					t.Errorf("%s is described by %d observances", name, k)
				}
			}
		}
	}
}

// Zones with a yearly rule are described by it, others change by change.
func TestZoneDescription(t *testing.T) {
	cases := []struct{ zone, want string }{
		{"Europe/Dublin", "FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU"},
		{"America/Toronto", "FREQ=YEARLY;BYMONTH=11;BYDAY=1SU"},
		{"Pacific/Auckland", "FREQ=YEARLY;BYMONTH=4;BYDAY=1SU"},
		{"Asia/Kathmandu", "BEGIN:STANDARD\r\nDTSTART:19700101T000000\r\nTZNAME:+0545\r\nTZOFFSETFROM:+0545\r\nTZOFFSETTO:+0545\r\nEND:STANDARD\r\n"},
	}
	for _, c := range cases {
		e := event("a", day(2027, 6, 1))
		e.Zone, e.Hours = c.zone, &scheduler.HoursOfDay{From: 600, Until: 660}
		if out := string(render(t, Feed{Events: []Event{e}})); !strings.Contains(out, c.want) {
			t.Errorf("%s: no %q in\n%s", c.zone, c.want, out)
		}
	}
}
