// Package calendar renders visits as an iCalendar feed (RFC 5545 and 7986).
// It is pure: equal feeds give equal bytes, whatever the hour.
package calendar

import (
	"cmp"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/emersion/go-ical"
	"golang.org/x/image/colornames"

	"pryday/scheduler"
)

// MaxBytes is the size that no feed reaches. Large clients stop reading at
// one megabyte.
const MaxBytes = 1_000_000

// productID names the program that wrote a calendar (RFC 5545, 3.7.3).
const productID = "-//Pryday//Pryday//EN"

// Feed is one calendar with its events.
type Feed struct {
	Name        string         // as clients show it
	Description string         // what the calendar holds; may be empty
	Colour      string         // a CSS3 colour name (RFC 7986, 5.9), or empty
	Refresh     time.Duration  // how often clients should ask, in whole minutes; 0 says nothing
	Source      string         // the https address of the feed itself, or empty
	Zone        string         // IANA zone shown when no event is timed; empty means UTC
	Events      []Event        // in any order
	Written     []Written      // more of them, written before
	Today       scheduler.Date // events before it give way first where not all fit; 0: none does
	More        bool           // Events are the nearest of more
	Method      Method         // what the calendar asks of who gets it (RFC 5546); empty for a feed
}

// Event is one visit as calendars show it.
type Event struct {
	UID         string // stable and opaque; becomes <UID>@pryday
	On          scheduler.Date
	Hours       *scheduler.HoursOfDay // nil for an all-day event
	Zone        string                // IANA zone of Hours
	ChangedAt   time.Time             // when the visit last changed, to the second
	Sequence    int
	Status      Status
	Summary     string
	Description string
	Location    string
	Geo         *Geo // only where its owner asked for the exact place
	URL         string
	Categories  []string
	Colour      string        // a CSS3 colour name, or empty
	Alarm       time.Duration // before the start; 0 for none. All-day events start at midnight
	Organiser   *Organiser    // who publishes it, or takes the answer; nil in feeds
	Attendee    *Attendee     // who is asked to answer; nil for nobody
}

// Method is what a calendar in a mail asks for.
type Method string

// The methods of calendars in mails (RFC 5546, 3.2).
const (
	Publish Method = "PUBLISH" // asks for nothing: whoever likes adds the events
	Request Method = "REQUEST" // asks for an answer
	Cancel  Method = "CANCEL"  // takes that back
)

// Status is the state of an event.
type Status string

// The states of an event (RFC 5545, 3.8.1.11).
const (
	Tentative Status = "TENTATIVE"
	Confirmed Status = "CONFIRMED"
	Cancelled Status = "CANCELLED"
)

// Geo is an exact place in degrees, north and east positive.
type Geo struct{ Latitude, Longitude float64 }

// Render writes f as text/calendar. Events stand by day, then by UID. Two
// renders of equal feeds are equal byte for byte.
//
// RFC 5545 wants at least one component in a calendar, so a feed without
// timed events carries the definition of its zone: an empty calendar is valid
// and clients show nothing.
//
// A feed that would reach MaxBytes leaves out the earliest of its past events,
// then the events furthest ahead, and says so in its description.
//
// The error names the event and the field that cannot be written: no UID, no
// day, unknown zone, hours that end before they begin, an address that is not
// http or https, an unknown colour or status.
func Render(f Feed) ([]byte, error) {
	events := slices.Clone(f.Written)
	for i := range f.Events {
		w, err := Write(&f.Events[i])
		if err != nil {
			return nil, fmt.Errorf("calendar %q: %w", f.Name, err)
		}
		events = append(events, w)
	}
	slices.SortFunc(events, func(a, b Written) int {
		return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(a.UID, b.UID))
	})
	if err := check(f, events); err != nil {
		return nil, err
	}
	for past := pastOf(events, f.Today); ; {
		out, err := encode(f, events)
		if err != nil {
			return nil, fmt.Errorf("calendar %q: %w", f.Name, err)
		}
		if len(out) < MaxBytes {
			return out, nil
		}
		if len(events) == 0 {
			return nil, fmt.Errorf("calendar %q: its own texts are %d bytes", f.Name, len(out))
		}
		// Leave out the share of events that does not fit, a little more each time.
		drop := len(events) - min(len(events)-1, len(events)*(MaxBytes-2000)/len(out))
		early := min(drop, past)
		events, past = events[early:len(events)-(drop-early)], past-early
		f.More = f.More || drop > early
	}
}

// pastOf counts the events before today.
func pastOf(events []Written, today scheduler.Date) int {
	i, _ := slices.BinarySearchFunc(events, today, func(e Written, d scheduler.Date) int { return cmp.Compare(e.On, d) })
	return i
}

func check(f Feed, events []Written) error {
	if err := checkColour(f.Colour); err != nil {
		return fmt.Errorf("calendar %q: %w", f.Name, err)
	}
	if err := checkAddress(f.Source); err != nil {
		return fmt.Errorf("calendar %q: source: %w", f.Name, err)
	}
	seen := make(map[string]bool, len(events))
	for _, e := range events {
		if seen[e.UID] {
			return fmt.Errorf("calendar %q: event %q: two events have this uid", f.Name, e.UID)
		}
		seen[e.UID] = true
	}
	return nil
}

func encode(f Feed, events []Written) ([]byte, error) {
	cal := ical.NewCalendar()
	set(cal.Props, ical.PropVersion, "2.0")
	set(cal.Props, ical.PropProductID, productID)
	set(cal.Props, ical.PropCalendarScale, "GREGORIAN")
	if f.Method != "" {
		set(cal.Props, ical.PropMethod, string(f.Method))
	}
	if name := CleanLine(f.Name); name != "" {
		set(cal.Props, ical.PropName, escape(name))
		set(cal.Props, "X-WR-CALNAME", escape(name))
	}
	description := Clean(f.Description)
	if f.More {
		description = strings.TrimLeft(fmt.Sprintf("%s\nLeft out to keep this calendar small: what comes after %s.",
			description, lastDay(events)), "\n")
	}
	if description != "" {
		set(cal.Props, ical.PropDescription, escape(description))
		set(cal.Props, "X-WR-CALDESC", escape(description))
	}
	if f.Colour != "" {
		set(cal.Props, ical.PropColor, strings.ToLower(f.Colour))
	}
	if minutes := int(f.Refresh / time.Minute); minutes > 0 {
		every := fmt.Sprintf("PT%dM", minutes)
		if minutes%60 == 0 {
			every = fmt.Sprintf("PT%dH", minutes/60)
		}
		set(cal.Props, ical.PropRefreshInterval, every).Params.Set(ical.ParamValue, "DURATION")
		set(cal.Props, "X-PUBLISHED-TTL", every)
	}
	if f.Source != "" {
		set(cal.Props, ical.PropSource, f.Source).Params.Set(ical.ParamValue, "URI")
	}
	zones, err := zonesOf(f, events)
	if err != nil {
		return nil, err
	}
	cal.Children = append(cal.Children, zones...)
	return withEvents(cal, events)
}

// set adds a property by its bare value: the library's setters add a VALUE=TEXT
// that does not belong on some properties and drop a VALUE that does.
func set(props ical.Props, name, value string) *ical.Prop {
	p := ical.NewProp(name)
	p.Value = value
	props.Add(p)
	return &props[p.Name][len(props[p.Name])-1]
}

func lastDay(events []Written) string {
	if len(events) == 0 {
		return "today"
	}
	return events[len(events)-1].On.String()
}

func checkColour(name string) error {
	if _, ok := colornames.Map[strings.ToLower(name)]; name != "" && !ok {
		return fmt.Errorf("%s is not a CSS3 colour name such as goldenrod", strconv.Quote(name))
	}
	return nil
}

func checkAddress(s string) error {
	if s == "" {
		return nil
	}
	u, err := url.Parse(s)
	if err != nil || (u.Scheme != "https" && u.Scheme != "http") || u.Host == "" || u.String() != s {
		return fmt.Errorf("%q is not an http or https address", s)
	}
	return nil
}
