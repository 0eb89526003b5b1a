package calendar

import (
	"bytes"
	"errors"
	"fmt"
	"time"

	"github.com/emersion/go-ical"

	"pryday/scheduler"
)

// Written is an event as calendar files have it. It never changes, so that a
// calendar of many is made anew from the few that did.
type Written struct {
	UID  string
	On   scheduler.Date
	zone string // of a timed event
	from time.Time
	last time.Time
	text []byte
}

// Size is the memory that it holds, in bytes.
func (w *Written) Size() int { return len(w.text) + len(w.UID) + 128 }

// Write writes an event. The error names the field that cannot be written.
func Write(e *Event) (Written, error) {
	w := Written{UID: e.UID, On: e.On}
	err := e.check()
	if err == nil {
		err = e.writeTo(&w)
	}
	if err != nil {
		return Written{}, fmt.Errorf("event %q: %w", e.UID, err)
	}
	return w, nil
}

func (e *Event) writeTo(w *Written) error {
	if e.Hours != nil {
		loc, err := zone(e.Zone)
		if err != nil {
			return err
		}
		w.zone = e.Zone
		w.from, w.last = e.span(loc)
	}
	c, err := e.component()
	if err != nil {
		return err
	}
	cal := ical.NewCalendar() // the library writes whole calendars only
	set(cal.Props, ical.PropVersion, "2.0")
	set(cal.Props, ical.PropProductID, productID)
	_, w.text, err = split(cal, c)
	return err
}

var errNoEvent = errors.New("the event was not written")

const (
	beginsEvent  = "\r\nBEGIN:VEVENT\r\n" // a whole line: a text may end with the same words
	endsCalendar = "END:VCALENDAR\r\n"
)

// split encodes a calendar with one event, and returns what stands before the
// event, and the event.
func split(cal *ical.Calendar, event *ical.Component) (head, text []byte, err error) {
	cal.Children = append(cal.Children, event)
	var w folder
	if err := ical.NewEncoder(&w).Encode(cal); err != nil {
		return nil, nil, err
	}
	all := bytes.TrimSuffix(w.out.Bytes(), []byte(endsCalendar))
	at := bytes.Index(all, []byte(beginsEvent)) + len("\r\n")
	if at < len("\r\n") {
		return nil, nil, errNoEvent
	}
	return all[:at], all[at:], nil
}

// withEvents encodes a calendar with events that were written before.
func withEvents(cal *ical.Calendar, events []Written) ([]byte, error) {
	if len(events) == 0 {
		var w folder
		err := ical.NewEncoder(&w).Encode(cal)
		return w.out.Bytes(), err
	}
	placeholder := ical.NewComponent(ical.CompEvent) // the head is the same before every event
	set(placeholder.Props, ical.PropUID, events[0].UID)
	set(placeholder.Props, ical.PropDateTimeStamp, "20260101T000000Z")
	head, _, err := split(cal, placeholder)
	if err != nil {
		return nil, err
	}
	size := len(head) + len(endsCalendar)
	for i := range events {
		size += len(events[i].text)
	}
	out := append(make([]byte, 0, size), head...)
	for i := range events {
		out = append(out, events[i].text...)
	}
	return append(out, endsCalendar...), nil
}
