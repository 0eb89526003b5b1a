package calendar

import (
	"fmt"
	netmail "net/mail"

	"github.com/emersion/go-ical"

	"pryday/scheduler"
)

// Attendee is who is asked to an event. There is one: nobody learns of another
// member's address.
type Attendee struct {
	netmail.Address
	Accepted bool // said so before
}

// Invitation is one visit as a calendar answers it, or taken back where the
// visit is not open any more (RFC 5546, 3.2.2 and 3.2.5). An answer that was
// given for another day does not count for this one: moved asks anew.
func Invitation(club *scheduler.Club, v VisitRecord, member *scheduler.Member, organiser Organiser, moved bool, o Options) (Method, []byte, error) {
	events := EventsOf(club, []VisitRecord{v}, o)
	if len(events) == 0 {
		return "", nil, fmt.Errorf("visit %q: it has no entry in a calendar", v.UID)
	}
	e := events[0]
	e.Organiser = &organiser
	e.Attendee = &Attendee{
		Address:  netmail.Address{Name: member.Name, Address: member.Email},
		Accepted: !moved && v.IsTakenBy(member.ID),
	}
	method := Request
	if !v.Status.Open() {
		method, e.Status = Cancel, Cancelled
	}
	object, err := Render(Feed{Method: method, Events: []Event{e}, Zone: club.ZoneOf(member).String()})
	return method, object, err
}

func (a *Attendee) set(props ical.Props) {
	p := set(props, ical.PropAttendee, mailto.Replace("mailto:"+a.Address.Address))
	if name := paramText(a.Name); name != "" {
		p.Params.Set(ical.ParamCommonName, name)
	}
	p.Params.Set(ical.ParamCalendarUserType, "INDIVIDUAL")
	p.Params.Set(ical.ParamRole, "REQ-PARTICIPANT")
	p.Params.Set(ical.ParamParticipationStatus, "NEEDS-ACTION")
	if a.Accepted {
		p.Params.Set(ical.ParamParticipationStatus, "ACCEPTED")
	}
	p.Params.Set(ical.ParamRSVP, "TRUE")
}
