package calendar

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pryday/scheduler"
)

// properties are all names that may stand at the beginning of a line of a
// feed with one timed event in one zone.
var properties = strings.Fields(`BEGIN END VERSION PRODID CALSCALE NAME X-WR-CALNAME DESCRIPTION X-WR-CALDESC COLOR
	REFRESH-INTERVAL X-PUBLISHED-TTL SOURCE TZID DTSTART RRULE TZNAME TZOFFSETFROM TZOFFSETTO UID DTSTAMP LAST-MODIFIED
	SEQUENCE STATUS TRANSP DTEND SUMMARY LOCATION CATEGORIES GEO URL ACTION TRIGGER`)

// No text in any field adds a line: a field that cannot hold it is refused.
func FuzzFields(f *testing.F) {
	for _, s := range texts {
		f.Add("u1", "https://a.example/"+s, "Europe/Dublin", "tan", s)
		f.Add(s, s, s, s, s)
	}
	f.Add("u1\r\nX-EVIL:1", "https://a.example/\r\nX-EVIL:1", "Europe/Dublin\r\nX-EVIL:1", "tan\r\nX-EVIL:1", "\r\nX-EVIL:1")
	f.Add("u1", "https://a.example/?q=1;2,3:4", "Europe/Dublin\"", "TAN", "x")
	f.Fuzz(func(t *testing.T, uid, url, zoneName, colour, text string) {
		good := event("good", day(2027, 5, 8))
		good.Hours, good.Zone, good.Alarm = &scheduler.HoursOfDay{From: 600, Until: 660}, "Europe/Dublin", time.Hour
		good.Summary, good.Description, good.Location, good.Categories = text, text, text, []string{text, text}
		changes := []func(*Event, *Feed){
			func(e *Event, f *Feed) {},
			func(e *Event, f *Feed) { e.UID = uid },
			func(e *Event, f *Feed) { e.URL = url },
			func(e *Event, f *Feed) { e.Zone = zoneName },
			func(e *Event, f *Feed) { e.Colour, f.Colour = colour, colour },
			func(e *Event, f *Feed) { f.Source = url },
			func(e *Event, f *Feed) { e.Status = Status(colour) },
		}
		for i, change := range changes {
			e, f := good, Feed{Name: text, Description: text, Refresh: time.Hour}
			change(&e, &f)
			f.Events = []Event{e}
			out, err := Render(f)
			if err != nil {
				if i == 0 {
					t.Fatal(err)
				}
				continue
			}
			checkLines(t, out)
			lines := strings.Split(strings.ReplaceAll(string(out), "\r\n ", ""), "\r\n")
			for _, line := range lines[:len(lines)-1] {
				if name := line[:max(0, strings.IndexAny(line, ":;"))]; !slices.Contains(properties, name) {
					t.Errorf("property %q in\n%s", name, out)
				}
			}
			if a, b := decode(t, out); len(a.Events()) != 1 || len(b.Events()) != 1 {
				t.Errorf("%d and %d events in\n%s", len(a.Events()), len(b.Events()), out)
			}
		}
	})
}
