package calendar

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	ics "github.com/arran4/golang-ical"
	"github.com/emersion/go-ical"

	"pryday/scheduler"
)

var changed = time.Date(2027, 2, 3, 4, 5, 6, 0, time.UTC)

func day(y int, m time.Month, d int) scheduler.Date { return scheduler.NewDate(y, m, d) }

func event(uid string, on scheduler.Date) Event {
	return Event{UID: uid, On: on, ChangedAt: changed, Status: Confirmed, Summary: "Orchard: open 3 boxes"}
}

// decode reads a feed with two decoders and returns both calendars.
func decode(t *testing.T, out []byte) (*ics.Calendar, *ical.Calendar) {
	t.Helper()
	a, err := ics.ParseCalendar(bytes.NewReader(out))
	if err != nil {
		t.Fatalf("golang-ical: %v\n%s", err, out)
	}
	b, err := ical.NewDecoder(bytes.NewReader(out)).Decode()
	if err != nil {
		t.Fatalf("go-ical: %v\n%s", err, out)
	}
	return a, b
}

func render(t *testing.T, f Feed) []byte {
	t.Helper()
	out, err := Render(f)
	if err != nil {
		t.Fatal(err)
	}
	checkLines(t, out)
	return out
}

// checkLines checks what RFC 5545, 3.1 asks of every content line.
func checkLines(t *testing.T, out []byte) {
	t.Helper()
	if !utf8.Valid(out) {
		t.Fatalf("not UTF-8: %q", out)
	}
	text, ok := strings.CutSuffix(string(out), "\r\n")
	if !ok {
		t.Fatalf("the last line has no CRLF: %q", out)
	}
	for line := range strings.SplitSeq(text, "\r\n") {
		if len(line) > 75 {
			t.Errorf("line of %d octets: %q", len(line), line)
		}
		if i := strings.IndexFunc(line, func(r rune) bool { return r < 0x20 || r == 0x7f }); i >= 0 {
			t.Errorf("control character in %q", line)
		}
		if line == "" || line == " " {
			t.Errorf("empty line in %q", out)
		}
	}
}

func TestRenderRows(t *testing.T) {
	hours := &scheduler.HoursOfDay{From: 9*60 + 30, Until: 12 * 60}
	full := event("7f3a", day(2027, 5, 8))
	full.Sequence, full.Status, full.Hours, full.Zone = 4, Tentative, hours, "Europe/Dublin"
	full.Description, full.Location = "Who; what, where\nand \\ more", "Orchard"
	full.Geo, full.URL = &Geo{44.1, -79.9}, "https://club.example/v/7f3a?from=cal"
	full.Categories, full.Colour, full.Alarm = []string{"Bees, glue", "b"}, "Tan", 15*time.Hour
	cancelled := event("c1", day(2027, 5, 9))
	cancelled.Status, cancelled.Alarm = Cancelled, time.Hour
	f := Feed{
		Name: "Orchard, keepers", Description: "d", Colour: "goldenrod", Refresh: 6 * time.Hour,
		Source: "https://club.example/calendar/x.ics", Events: []Event{cancelled, full},
	}
	out := string(render(t, f))
	unfolded := strings.ReplaceAll(out, "\r\n ", "")
	// The section of RFC 5545 or RFC 7986 that asks for the row stands beside it.
	rows := []struct{ section, want string }{
		{"5545 3.4", "BEGIN:VCALENDAR\r\n"},
		{"5545 3.7.1", "\r\nCALSCALE:GREGORIAN\r\n"},
		{"5545 3.7.3", "\r\nPRODID:-//Pryday//Pryday//EN\r\n"},
		{"5545 3.7.4", "\r\nVERSION:2.0\r\n"},
		{"7986 5.1", "\r\nNAME:Orchard\\, keepers\r\n"},
		{"common practice", "\r\nX-WR-CALNAME:Orchard\\, keepers\r\n"},
		{"7986 5.7", "\r\nREFRESH-INTERVAL;VALUE=DURATION:PT6H\r\n"},
		{"common practice", "\r\nX-PUBLISHED-TTL:PT6H\r\n"},
		{"7986 5.8", "\r\nSOURCE;VALUE=URI:https://club.example/calendar/x.ics\r\n"},
		{"7986 5.9", "\r\nCOLOR:goldenrod\r\n"},
		{"5545 3.8.2.4", "\r\nDTSTART;TZID=Europe/Dublin:20270508T093000\r\n"},
		{"5545 3.8.2.2", "\r\nDTEND;TZID=Europe/Dublin:20270508T120000\r\n"},
		{"5545 3.8.2.4", "\r\nDTSTART;VALUE=DATE:20270509\r\n"},
		{"5545 3.8.2.2, exclusive", "\r\nDTEND;VALUE=DATE:20270510\r\n"},
		{"5545 3.8.4.7", "\r\nUID:7f3a@pryday\r\n"},
		{"5545 3.8.7.2", "\r\nDTSTAMP:20270203T040506Z\r\n"},
		{"5545 3.8.7.3", "\r\nLAST-MODIFIED:20270203T040506Z\r\n"},
		{"5545 3.8.7.4", "\r\nSEQUENCE:4\r\n"},
		{"5545 3.8.1.11", "\r\nSTATUS:TENTATIVE\r\n"},
		{"5545 3.8.1.11", "\r\nSTATUS:CANCELLED\r\n"},
		{"5545 3.8.2.7", "\r\nTRANSP:TRANSPARENT\r\n"},
		{"5545 3.8.1.2", "\r\nCATEGORIES:Bees\\, glue,b\r\n"},
		{"5545 3.8.1.5, 3.3.11", "\r\nDESCRIPTION:Who\\; what\\, where\\nand \\\\ more\r\n"},
		{"5545 3.8.1.6", "\r\nGEO:44.100000;-79.900000\r\n"},
		{"5545 3.8.1.7", "\r\nLOCATION:Orchard\r\n"},
		{"5545 3.8.4.6", "\r\nURL:https://club.example/v/7f3a?from=cal\r\n"},
		{"5545 3.8.6.3", "\r\nTRIGGER:-PT900M\r\n"},
		{"5545 3.8.6.1", "\r\nACTION:DISPLAY\r\n"},
		{"5545 3.6.5", "\r\nBEGIN:VTIMEZONE\r\n"},
	}
	for _, r := range rows {
		if !strings.Contains(unfolded, r.want) {
			t.Errorf("RFC %s: no row %q in\n%s", r.section, r.want, unfolded)
		}
	}
	for _, never := range []string{"METHOD", "VALUE=TEXT", "X-WR-TIMEZONE"} {
		if strings.Contains(unfolded, never) {
			t.Errorf("%s stands in\n%s", never, unfolded)
		}
	}
	if n := strings.Count(unfolded, "BEGIN:VTIMEZONE"); n != 1 {
		t.Errorf("%d zones, want 1", n)
	}
	if n := strings.Count(unfolded, "BEGIN:VALARM"); n != 1 {
		t.Errorf("%d alarms, want 1: none on a cancelled visit", n)
	}
	f.Events[0], f.Events[1] = f.Events[1], f.Events[0]
	if again := string(render(t, f)); again != out {
		t.Error("the order of the events changes the bytes")
	}
	a, b := decode(t, []byte(out))
	if len(a.Events()) != 2 || len(b.Events()) != 2 {
		t.Errorf("decoders see %d and %d events", len(a.Events()), len(b.Events()))
	}
}

// An empty calendar still has a component (RFC 5545, 3.6).
func TestRenderEmpty(t *testing.T) {
	out := render(t, Feed{Name: "Nothing due", Zone: "Pacific/Auckland"})
	a, b := decode(t, out)
	if len(a.Events()) != 0 || len(b.Events()) != 0 || !bytes.Contains(out, []byte("TZID:Pacific/Auckland\r\n")) {
		t.Errorf("got\n%s", out)
	}
}

func TestRenderRefuses(t *testing.T) {
	good := event("a", day(2027, 5, 8))
	with := func(change func(*Event)) Feed {
		e := good
		change(&e)
		return Feed{Name: "n", Events: []Event{e}}
	}
	cases := []struct {
		name, want string
		feed       Feed
	}{
		{"no uid", "uid is printable", with(func(e *Event) { e.UID = "" })},
		{"uid with a line break", "uid is printable", with(func(e *Event) { e.UID = "a\r\nb" })},
		{"no day", "days run from", with(func(e *Event) { e.On = 0 })},
		{"no time of change", "last change", with(func(e *Event) { e.ChangedAt = time.Time{} })},
		{"negative sequence", "sequence -1", with(func(e *Event) { e.Sequence = -1 })},
		{"unknown status", "NEEDS-ACTION", with(func(e *Event) { e.Status = "NEEDS-ACTION" })},
		{"hours end before they begin", "end after", with(func(e *Event) { e.Hours = &scheduler.HoursOfDay{From: 60, Until: 30} })},
		{"zone missing", `zone ""`, with(func(e *Event) { e.Hours = &scheduler.HoursOfDay{From: 30, Until: 60} })},
		{"zone of the machine", `zone "Local"`, with(func(e *Event) { e.Hours, e.Zone = &scheduler.HoursOfDay{From: 30, Until: 60}, "Local" })},
		{"address is a script", "http or https", with(func(e *Event) { e.URL = "javascript:alert(1)" })},
		{"address with a line break", "http or https", with(func(e *Event) { e.URL = "https://a.example/\r\nX:1" })},
		{"colour by number", "CSS3", with(func(e *Event) { e.Colour = "#ff0000" })},
		{"place off the globe", "globe", with(func(e *Event) { e.Geo = &Geo{91, 0} })},
		{"same uid twice", "two events", Feed{Events: []Event{good, good}}},
		{"source not an address", "source", Feed{Source: "x"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			out, err := Render(c.feed)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %q, %v; want an error with %q", out, err, c.want)
			}
		})
	}
}

// A feed stays under its size whatever the size of the club.
func TestRenderUnderAMegabyte(t *testing.T) {
	f := Feed{Name: "big"}
	for i := range 1500 {
		e := event(fmt.Sprint("u", i), day(2027, 1, 1)+scheduler.Date(i%300))
		e.Description = strings.Repeat("Gänseblümchen, ", 60)
		f.Events = append(f.Events, e)
	}
	out := render(t, f)
	if len(out) >= MaxBytes || len(out) < MaxBytes*8/10 {
		t.Errorf("%d bytes", len(out))
	}
	cal, err := ical.NewDecoder(bytes.NewReader(out)).Decode()
	if err != nil {
		t.Fatal(err)
	}
	var days []string
	for _, e := range cal.Events() {
		days = append(days, e.Props.Get(ical.PropDateTimeStart).Value)
	}
	if n := len(days); n >= 1500 || !slices.IsSorted(days) || days[0] != "20270101" || !bytes.Contains(out, []byte("Left out")) {
		t.Errorf("%d events from %s to %s and no word of what was left out", n, days[0], days[n-1])
	}
}

// Where not all fit, the oldest go first, then those furthest ahead.
func TestRenderLetsThePastGoFirst(t *testing.T) {
	cases := []struct {
		name         string
		today        scheduler.Date
		first        string // the first day kept
		last, notice bool   // the last day is kept; the feed says what it left out
	}{
		{"half of it past", day(2027, 1, 1) + 600, "", true, false},
		{"a little past", day(2027, 1, 1) + 50, "20270220", false, true},
		{"all ahead", day(2027, 1, 1), "20270101", false, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f := Feed{Today: c.today}
			for i := range 1200 {
				e := event(fmt.Sprint("u", i), day(2027, 1, 1)+scheduler.Date(i))
				e.Description = strings.Repeat("x", 1000)
				f.Events = append(f.Events, e)
			}
			_, cal := decode(t, render(t, f))
			events := cal.Events()
			first := events[0].Props.Get(ical.PropDateTimeStart).Value
			last := events[len(events)-1].Props.Get(ical.PropDateTimeStart).Value
			if c.first != "" && first != c.first || first > c.today.Format("20060102") {
				t.Errorf("the first event is on %s", first)
			}
			if (last == (day(2027, 1, 1) + 1199).Format("20060102")) != c.last {
				t.Errorf("the last event is on %s", last)
			}
			if (cal.Props.Get(ical.PropDescription) != nil) != c.notice {
				t.Errorf("what it says of what was left out: %v", cal.Props.Get(ical.PropDescription))
			}
		})
	}
}
