package feed

import (
	"strings"
	"testing"

	ics "github.com/arran4/golang-ical"
	"github.com/emersion/go-ical"
)

// event is one event as a decoder read it.
type event struct {
	uid, on, until, status, place, summary, description, sequence, stamp string
}

// byGolangICal reads a feed with arran4/golang-ical.
func byGolangICal(t testing.TB, body string) (out []event) {
	t.Helper()
	c, err := ics.ParseCalendar(strings.NewReader(body))
	if err != nil {
		t.Fatalf("golang-ical: %v\n%s", err, body)
	}
	for _, e := range c.Events() {
		get := func(name ics.ComponentProperty) string {
			if p := e.GetProperty(name); p != nil {
				return p.Value
			}
			return ""
		}
		out = append(out, event{
			e.Id(), get("DTSTART"), get("DTEND"), get("STATUS"), get("LOCATION"), get("SUMMARY"), get("DESCRIPTION"), get("SEQUENCE"), get("DTSTAMP"),
		})
	}
	return out
}

// byGoICal reads a feed with emersion/go-ical.
func byGoICal(t testing.TB, body string) (out []event) {
	t.Helper()
	c, err := ical.NewDecoder(strings.NewReader(body)).Decode()
	if err != nil {
		t.Fatalf("go-ical: %v\n%s", err, body)
	}
	for _, e := range c.Events() {
		get := func(name string) string {
			s, err := e.Props.Text(name)
			if err != nil {
				t.Fatal(err)
			}
			return s
		}
		raw := func(name string) string { return e.Props.Get(name).Value }
		out = append(out, event{
			get("UID"), raw("DTSTART"), raw("DTEND"), raw("STATUS"), get("LOCATION"), get("SUMMARY"), get("DESCRIPTION"), raw("SEQUENCE"), raw("DTSTAMP"),
		})
	}
	return out
}
