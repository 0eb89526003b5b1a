package calendar

import (
	"strings"
	"testing"

	"github.com/emersion/go-ical"
)

// published is one event as a mail carries it.
func published(o Organiser) Feed {
	e := event("a", day(2027, 5, 8))
	e.Organiser = &o
	return Feed{Method: Publish, Events: []Event{e}}
}

// A published event names its method and who publishes it, and asks nobody to
// answer: the calendar has no attendee (RFC 5546, 3.2.1).
func TestPublish(t *testing.T) {
	out := strings.ReplaceAll(string(render(t, published(Organiser{Name: `Low "Weir"; Bees, x:y`, Address: "bees+50%#1@club.example"}))), "\r\n ", "")
	for _, want := range []string{"\r\nMETHOD:PUBLISH\r\n", "\r\nORGANIZER;CN=\"Low 'Weir'; Bees, x:y\":mailto:bees+50%25%231@club.example\r\n"} {
		if strings.Count(out, want) != 1 {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	if strings.Contains(out, "ATTENDEE") || strings.Contains(out, "RSVP") {
		t.Errorf("it asks for an answer:\n%s", out)
	}
	_, cal := decode(t, []byte(out))
	if p := cal.Events()[0].Props.Get(ical.PropOrganizer); p == nil || p.Params.Get(ical.ParamCommonName) != "Low 'Weir'; Bees, x:y" {
		t.Errorf("read back: %+v", p)
	}
	if feed := string(render(t, Feed{Events: []Event{event("a", day(2027, 5, 8))}})); strings.Contains(feed, "METHOD") || strings.Contains(feed, "ORGANIZER") {
		t.Errorf("a feed is published like a mail:\n%s", feed)
	}
}

func TestPublishRefuses(t *testing.T) {
	for _, bad := range []string{"", "bees", "bees @club.example", "bees@club.example\r\nX:1", `b"@club.example`} {
		if out, err := Render(published(Organiser{Address: bad})); err == nil {
			t.Errorf("%q publishes:\n%s", bad, out)
		}
	}
	// No name adds a parameter or a line.
	for _, text := range texts {
		out := render(t, published(Organiser{Name: text, Address: "bees@club.example"}))
		if _, cal := decode(t, out); len(cal.Events()[0].Props.Get(ical.PropOrganizer).Params) > 1 {
			t.Errorf("%q:\n%s", text, out)
		}
	}
}
