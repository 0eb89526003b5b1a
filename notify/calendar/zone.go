package calendar

import (
	"fmt"
	"slices"
	"time"

	"github.com/emersion/go-ical"

	"pryday/scheduler"
)

// zone loads an IANA zone by its name.
func zone(name string) (*time.Location, error) {
	if name == "" || name == "Local" {
		return nil, fmt.Errorf("zone %q is not an IANA name such as Europe/Dublin", name)
	}
	loc, err := time.LoadLocation(name)
	if err != nil {
		return nil, fmt.Errorf("zone %q is not an IANA name such as Europe/Dublin: %w", name, err)
	}
	return loc, nil
}

// wall returns the instant at which clocks in loc show a minute of the day. A
// time that a clock change leaves out is read with the offset before the
// change, one that comes twice is the first (RFC 5545, 3.3.5).
func wall(d scheduler.Date, minute int, loc *time.Location) time.Time {
	naive := d.At(minute, time.UTC)
	_, before := naive.Add(-24 * time.Hour).In(loc).Zone()
	_, after := naive.Add(24 * time.Hour).In(loc).Zone()
	early := naive.Add(-time.Duration(max(before, after)) * time.Second).In(loc)
	late := naive.Add(-time.Duration(min(before, after)) * time.Second).In(loc)
	shows := func(t time.Time) bool {
		_, offset := t.Zone()
		return t.Add(time.Duration(offset) * time.Second).Equal(naive)
	}
	switch {
	case shows(early):
		return early
	case shows(late):
		return late
	}
	// Left out by a change: the offset before it, which is the smaller.
	return late
}

// zonesOf returns one VTIMEZONE for each zone that timed events use, or the
// feed's own zone when there is none, in the order of their names.
func zonesOf(f Feed, events []Written) ([]*ical.Component, error) {
	type span struct{ from, until time.Time }
	spans := map[string]span{}
	for i := range events {
		e := &events[i]
		if e.zone == "" {
			continue
		}
		s, ok := spans[e.zone]
		if !ok || e.from.Before(s.from) {
			s.from = e.from
		}
		if !ok || e.last.After(s.until) {
			s.until = e.last
		}
		spans[e.zone] = s
	}
	if len(spans) == 0 && len(events) == 0 {
		name := f.Zone
		if name == "" {
			name = "UTC"
		}
		loc, err := zone(name)
		if err != nil {
			return nil, err
		}
		// A fixed day: an empty feed does not change from day to day.
		fixed := time.Date(2026, time.January, 1, 0, 0, 0, 0, loc)
		spans[name] = span{fixed, fixed}
	}
	names := make([]string, 0, len(spans))
	for name := range spans {
		names = append(names, name)
	}
	slices.Sort(names)
	var out []*ical.Component
	for _, name := range names {
		out = append(out, timezone(name, spans[name].from, spans[name].until))
	}
	return out, nil
}

// change is one change of a zone's offset.
type change struct {
	at       time.Time
	from, to int // seconds east of UTC
	name     string
	daylight bool
}

// onset is the local time of c on the clock that it ends.
func (c change) onset() time.Time { return c.at.UTC().Add(time.Duration(c.from) * time.Second) }

// changeAt returns the change that begins at t.
func changeAt(t time.Time) change {
	_, from := t.Add(-time.Second).Zone()
	name, to := t.Zone()
	return change{at: t, from: from, to: to, name: name, daylight: t.IsDST()}
}

// isChange reports whether clocks or their name change at t. Past the end of
// its table, time.Time.ZoneBounds also stops at ends of years.
func isChange(t time.Time) bool {
	before, from := t.Add(-time.Second).Zone()
	after, to := t.Zone()
	return from != to || before != after
}

// lastChange returns the last change not after t, the zero Time if none.
func lastChange(t time.Time) time.Time {
	for {
		start, _ := t.ZoneBounds()
		if start.IsZero() || isChange(start) {
			return start
		}
		t = start.Add(-time.Second)
	}
}

// nextChange returns the first change after t, the zero Time if there is none
// within two years.
func nextChange(t time.Time) time.Time {
	for limit := t.AddDate(2, 0, 0); t.Before(limit); {
		_, end := t.ZoneBounds()
		switch {
		case end.IsZero():
			return end
		case !end.After(t): // a year's end again
			t = t.Add(24 * time.Hour)
		case isChange(end):
			return end
		default:
			t = end
		}
	}
	return time.Time{}
}

// timezone describes a zone from one instant to another: by its yearly rule
// where it has one, otherwise change by change.
func timezone(name string, from, until time.Time) *ical.Component {
	c := ical.NewComponent(ical.CompTimezone)
	set(c.Props, ical.PropTimezoneID, name)
	first, next := lastChange(from), nextChange(from)
	if !first.IsZero() && !next.IsZero() {
		if rules := yearly(first); rules != nil {
			c.Children = rules
			return c
		}
		c.Children = append(c.Children, observance(changeAt(first), changeAt(first).onset(), ""))
	} else {
		// One offset for the whole span, or no change before it.
		label, offset := from.Zone()
		always := change{from: offset, to: offset, name: label, daylight: from.IsDST()}
		c.Children = append(c.Children, observance(always, time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC), ""))
	}
	for ; !next.IsZero() && !next.After(until); next = nextChange(next) {
		c.Children = append(c.Children, observance(changeAt(next), changeAt(next).onset(), ""))
	}
	return c
}

func observance(c change, onset time.Time, rule string) *ical.Component {
	kind := ical.CompTimezoneStandard
	if c.daylight {
		kind = ical.CompTimezoneDaylight
	}
	o := ical.NewComponent(kind)
	set(o.Props, ical.PropDateTimeStart, onset.Format("20060102T150405"))
	set(o.Props, ical.PropTimezoneOffsetFrom, utcOffset(c.from))
	set(o.Props, ical.PropTimezoneOffsetTo, utcOffset(c.to))
	set(o.Props, ical.PropTimezoneName, escape(CleanLine(c.name)))
	if rule != "" {
		set(o.Props, ical.PropRecurrenceRule, rule)
	}
	return o
}

// utcOffset writes seconds east of UTC as +hhmm or +hhmmss.
func utcOffset(seconds int) string {
	sign := '+'
	if seconds < 0 {
		sign, seconds = '-', -seconds
	}
	s := fmt.Sprintf("%c%02d%02d", sign, seconds/3600, seconds/60%60)
	if seconds%60 != 0 {
		s += fmt.Sprintf("%02d", seconds%60)
	}
	return s
}
