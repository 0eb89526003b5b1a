package calendar

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/emersion/go-ical"

	"pryday/scheduler"
)

// uidDomain makes UIDs globally unique without naming a person or a host.
const uidDomain = "@pryday"

func (e *Event) check() error {
	if e.UID == "" || strings.ContainsFunc(e.UID, func(r rune) bool { return r <= ' ' || r > '~' || strings.ContainsRune(`\;,"`, r) }) {
		return fmt.Errorf("a uid is printable ASCII without spaces, quotes, backslashes, commas and semicolons")
	}
	if e.On < scheduler.MinDate || e.On > scheduler.MaxDate {
		return fmt.Errorf("day %q: days run from %s to %s", e.On, scheduler.MinDate, scheduler.MaxDate)
	}
	if e.ChangedAt.IsZero() {
		return fmt.Errorf("the time of its last change is not set")
	}
	if e.Sequence < 0 {
		return fmt.Errorf("sequence %d is negative", e.Sequence)
	}
	switch e.Status {
	case Tentative, Confirmed, Cancelled:
	default:
		return fmt.Errorf("status %q is not one of %s, %s, %s", e.Status, Tentative, Confirmed, Cancelled)
	}
	if h := e.Hours; h != nil && (h.From < 0 || h.Until > 24*60 || h.Until <= h.From) {
		return fmt.Errorf("hours %d to %d: minutes of one day, the end after the beginning", h.From, h.Until)
	}
	if g := e.Geo; g != nil && !(g.Latitude >= -90 && g.Latitude <= 90 && g.Longitude >= -180 && g.Longitude <= 180) {
		return fmt.Errorf("place %g;%g is not on the globe", g.Latitude, g.Longitude)
	}
	if e.Organiser != nil {
		if err := e.Organiser.check(); err != nil {
			return fmt.Errorf("organiser: %w", err)
		}
	}
	if e.Attendee != nil {
		if err := checkMailbox(e.Attendee.Address.Address); err != nil {
			return fmt.Errorf("attendee: %w", err)
		}
	}
	if err := checkAddress(e.URL); err != nil {
		return fmt.Errorf("url: %w", err)
	}
	return checkColour(e.Colour)
}

func (e *Event) component() (*ical.Component, error) {
	c := ical.NewComponent(ical.CompEvent)
	changed := e.ChangedAt.UTC().Format("20060102T150405Z")
	set(c.Props, ical.PropUID, e.UID+uidDomain)
	set(c.Props, ical.PropDateTimeStamp, changed)
	set(c.Props, ical.PropLastModified, changed)
	set(c.Props, ical.PropSequence, strconv.Itoa(e.Sequence))
	set(c.Props, ical.PropStatus, string(e.Status))
	set(c.Props, ical.PropTransparency, "TRANSPARENT")
	if e.Hours == nil {
		set(c.Props, ical.PropDateTimeStart, e.On.Format("20060102")).Params.Set(ical.ParamValue, "DATE")
		set(c.Props, ical.PropDateTimeEnd, (e.On+1).Format("20060102")).Params.Set(ical.ParamValue, "DATE")
	} else {
		loc, err := zone(e.Zone)
		if err != nil {
			return nil, err
		}
		from, until := e.span(loc)
		set(c.Props, ical.PropDateTimeStart, from.Format("20060102T150405")).Params.Set(ical.ParamTimezoneID, e.Zone)
		set(c.Props, ical.PropDateTimeEnd, until.Format("20060102T150405")).Params.Set(ical.ParamTimezoneID, e.Zone)
	}
	setText(c.Props, ical.PropSummary, CleanLine(e.Summary))
	setText(c.Props, ical.PropDescription, Clean(e.Description))
	setText(c.Props, ical.PropLocation, CleanLine(e.Location))
	var categories []string
	for _, s := range e.Categories {
		if s = CleanLine(s); s != "" {
			categories = append(categories, escape(s))
		}
	}
	if len(categories) > 0 {
		set(c.Props, ical.PropCategories, strings.Join(categories, ","))
	}
	if e.Organiser != nil {
		e.Organiser.set(c.Props)
	}
	if e.Attendee != nil {
		e.Attendee.set(c.Props)
	}
	if e.Geo != nil {
		set(c.Props, ical.PropGeo, fmt.Sprintf("%.6f;%.6f", e.Geo.Latitude, e.Geo.Longitude))
	}
	if e.URL != "" {
		set(c.Props, ical.PropURL, e.URL)
	}
	if e.Colour != "" {
		set(c.Props, ical.PropColor, strings.ToLower(e.Colour))
	}
	if e.Alarm > 0 && e.Status != Cancelled {
		a := ical.NewComponent(ical.CompAlarm)
		set(a.Props, ical.PropAction, "DISPLAY")
		set(a.Props, ical.PropDescription, escape(CleanLine(e.Summary)))
		set(a.Props, ical.PropTrigger, fmt.Sprintf("-PT%dM", int(e.Alarm/time.Minute)))
		c.Children = append(c.Children, a)
	}
	return c, nil
}

// span returns the instants between which a timed event lasts.
func (e *Event) span(loc *time.Location) (from, until time.Time) {
	from, until = wall(e.On, int(e.Hours.From), loc), wall(e.On, int(e.Hours.Until), loc)
	if !until.After(from) { // both fell into the hour that a clock change took away
		until = from.Add(time.Duration(e.Hours.Until-e.Hours.From) * time.Minute)
	}
	return from, until
}

func setText(props ical.Props, name, clean string) {
	if clean != "" {
		set(props, name, escape(clean))
	}
}
