package inbox

import (
	"bytes"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"pryday/scheduler"
)

// Answer is what a calendar says about one event (RFC 5546, 3.2).
type Answer struct {
	Method    string // REPLY, COUNTER and so on
	UID       string
	Sequence  int  // of the event as it was when the answer was given; -1 where that is not said
	Repeating bool // about one of several days of an event
	Stamp     time.Time
	Note      string // what its writer added
	day       scheduler.Date
	instant   time.Time // of the start, where that is in UTC; then day is not set
	attendees []attendee
}

type attendee struct {
	address string
	says    saying
}

// readAnswer reads the first event of a calendar object; nil when there is none.
func readAnswer(object []byte) (a *Answer) {
	defer func() {
		// The parser is other people's, and so is what it parses.
		if recover() != nil {
			a = nil
		}
	}()
	cal, err := ics.ParseCalendar(bytes.NewReader(object))
	if err != nil || cal == nil {
		return nil
	}
	events := cal.Events()
	if len(events) == 0 {
		return nil
	}
	e := events[0]
	a = &Answer{UID: property(e, ics.ComponentPropertyUniqueId), Sequence: -1}
	for _, p := range cal.CalendarProperties {
		if strings.EqualFold(p.IANAToken, "METHOD") {
			a.Method = strings.ToUpper(oneLine(p.Value))
		}
	}
	if n, err := strconv.Atoi(property(e, ics.ComponentPropertySequence)); err == nil && n >= 0 {
		a.Sequence = n
	}
	for _, p := range e.Properties {
		switch strings.ToUpper(p.IANAToken) {
		case "RECURRENCE-ID":
			a.Repeating = true
		case "ATTENDEE":
			a.attendees = append(a.attendees, attendee{mailbox(p.Value), says(p.ICalParameters)})
		}
	}
	a.Note = strings.TrimSpace(ics.FromText(property(e, ics.ComponentPropertyComment)))
	a.Stamp, _ = time.Parse("20060102T150405Z", property(e, ics.ComponentPropertyDtstamp))
	a.start(property(e, ics.ComponentPropertyDtStart))
	return a
}

// start reads a day, a local time of a day, or an instant.
func (a *Answer) start(s string) {
	if t, err := time.Parse("20060102T150405Z", s); err == nil {
		a.instant = t
		return
	}
	s, _, _ = strings.Cut(s, "T")
	if t, err := time.Parse("20060102", s); err == nil {
		a.day = scheduler.DateOf(t)
	}
}

// Day is the event's as the calendar knew it; zero where it does not say. An
// instant falls on its day in loc.
func (a *Answer) Day(loc *time.Location) scheduler.Date {
	if !a.instant.IsZero() {
		return scheduler.DateOf(a.instant.In(loc))
	}
	return a.day
}

// Says is the member's answer, a PARTSTAT such as ACCEPTED. An answer has one
// attendee; a calendar that lists more is believed about the member's address
// alone. Empty where nothing is said of the member.
func (a *Answer) Says(address string) saying {
	if len(a.attendees) == 1 {
		return a.attendees[0].says
	}
	for _, at := range a.attendees {
		if strings.EqualFold(at.address, address) {
			return at.says
		}
	}
	return ""
}

// isOf reports whether the answer says anything of an address.
func (a *Answer) isOf(address string) bool {
	return slices.ContainsFunc(a.attendees, func(at attendee) bool { return strings.EqualFold(at.address, address) })
}

func property(e *ics.VEvent, name ics.ComponentProperty) string {
	if p := e.GetProperty(name); p != nil {
		return oneLine(p.Value)
	}
	return ""
}

func says(params map[string][]string) saying {
	for name, values := range params {
		if strings.EqualFold(name, "PARTSTAT") && len(values) > 0 {
			return saying(strings.ToUpper(oneLine(values[0])))
		}
	}
	return ""
}

// mailbox is the address of a mailto URI, whose scheme is in either case.
func mailbox(uri string) string {
	uri = oneLine(uri)
	scheme, address, ok := strings.Cut(uri, ":")
	if !ok || !strings.EqualFold(scheme, "mailto") {
		return uri
	}
	if plain, err := url.PathUnescape(address); err == nil {
		return plain
	}
	return address
}
