package notify_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	ics "github.com/arran4/golang-ical"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// invite turns invitations on for the member and returns the invitation to a
// visit, with the address that answers go to.
func (p *post) invite(t testing.TB, it owed.Item) (event *ics.VEvent, method, organiser string) {
	t.Helper()
	p.exec(t, fmt.Sprintf(`UPDATE member SET invitations = true WHERE id = %d`, p.member))
	_, bodies := parts(t, p.remind(t, it).Text)
	cal, err := ics.ParseCalendar(strings.NewReader(bodies["text/calendar"]))
	if err != nil || len(cal.Events()) != 1 {
		t.Fatalf("%v in %q", err, bodies["text/calendar"])
	}
	event = cal.Events()[0]
	for _, prop := range cal.CalendarProperties {
		if prop.IANAToken == "METHOD" {
			method = prop.Value
		}
	}
	return event, method, strings.TrimPrefix(event.GetProperty(ics.ComponentPropertyOrganizer).Value, "mailto:")
}

// fromCalendar is a mail in which a mail program answers; the object is its own.
func fromCalendar(to, id, object string) string {
	return fmt.Sprintf(`From: Kay Orrin <kay@keepers.test>
To: %s
Subject: Event Invitation Reply
Message-ID: <%s@keepers.test>
Content-Type: multipart/mixed; boundary="c"
MIME-Version: 1.0

--c
Content-Type: multipart/alternative; boundary="d"

--d
Content-Type: text/plain; charset=UTF-8

Kay Orrin has answered.

--d
Content-Type: text/calendar; method=REPLY; charset=UTF-8
Content-Transfer-Encoding: 8bit

%s
--d--
--c
Content-Type: application/ics; name="invite.ics"
Content-Disposition: attachment; filename="invite.ics"

%s
--c--
`, to, id, object, object)
}

// thunderbird answers as that program writes it: all of the event, the day as
// a date, the line of the attendee folded.
func thunderbird(event *ics.VEvent, says, stamp string) string {
	day := event.GetProperty(ics.ComponentPropertyDtStart).Value
	return strings.Join([]string{
		"BEGIN:VCALENDAR", "PRODID:-//Mozilla.org/NONSGML Mozilla Calendar V1.1//EN", "VERSION:2.0", "METHOD:REPLY", "BEGIN:VEVENT",
		"CREATED:20270503T101010Z", "LAST-MODIFIED:" + stamp, "DTSTAMP:" + stamp,
		"UID:" + event.Id(), "SUMMARY:Orchard", "ORGANIZER;CN=Hollow Lane Bees:" + event.GetProperty(ics.ComponentPropertyOrganizer).Value,
		"ATTENDEE;CN=Kay Orrin;PARTSTAT=" + says + ";CUTYPE=INDIVIDUAL;RSVP=TRUE;ROLE=REQ-PARTI", " CIPANT:mailto:kay@keepers.test",
		"DTSTART;VALUE=DATE:" + day, "DTEND;VALUE=DATE:20270509", "SEQUENCE:" + event.GetProperty(ics.ComponentPropertySequence).Value,
		"X-MOZ-RECEIVED-SEQUENCE:1", "TRANSP:TRANSPARENT", "END:VEVENT", "END:VCALENDAR", "",
	}, "\n")
}

// exchange answers as that server writes it: local midnight in a zone of its
// own name, the scheme in capitals, a note as a comment.
func exchange(event *ics.VEvent, says, stamp, note string) string {
	day := event.GetProperty(ics.ComponentPropertyDtStart).Value
	return strings.Join([]string{
		"BEGIN:VCALENDAR", "METHOD:REPLY", "PRODID:Microsoft Exchange Server 2010", "VERSION:2.0",
		"BEGIN:VTIMEZONE", "TZID:GMT Standard Time", "BEGIN:STANDARD", "DTSTART:16010101T020000", "TZOFFSETFROM:+0100", "TZOFFSETTO:+0000",
		"RRULE:FREQ=YEARLY;INTERVAL=1;BYDAY=-1SU;BYMONTH=10", "END:STANDARD", "END:VTIMEZONE",
		"BEGIN:VEVENT", "ATTENDEE;PARTSTAT=" + says + ";CN=Kay Orrin:MAILTO:kay@keepers.test", "COMMENT;LANGUAGE=en-GB:" + note,
		"UID:" + event.Id(), "SUMMARY;LANGUAGE=en-GB:Declined: Orchard", "DTSTART;TZID=GMT Standard Time:" + day + "T000000",
		"CLASS:PUBLIC", "PRIORITY:5", "DTSTAMP:" + stamp, "TRANSP:OPAQUE", "STATUS:CONFIRMED",
		"SEQUENCE:" + event.GetProperty(ics.ComponentPropertySequence).Value, "X-MICROSOFT-CDO-BUSYSTATUS:BUSY", "END:VEVENT", "END:VCALENDAR", "",
	}, "\n")
}

func (p *post) visitNow(t testing.TB, id int64) (v *store.VisitRecord) {
	t.Helper()
	p.inClub(t, func(ctx context.Context, tx *store.Tx) (err error) {
		v, err = tx.Visit(ctx, id)
		return err
	})
	return v
}

// nobodyGoes takes everybody off a visit.
func (p *post) nobodyGoes(t testing.TB, v store.VisitRecord) store.VisitRecord {
	t.Helper()
	p.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.SetWho(ctx, v.ID, v.Sequence, nil, p.today())
		return err
	})
	return *p.visitNow(t, v.ID)
}

// An invitation is what RFC 5546, 3.2.2 asks for, and what was accepted in a
// calendar is taken; declining takes it back.
func TestCalendarAnswersTakeVisits(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	v := p.nobodyGoes(t, p.visit(t))
	event, method, organiser := p.invite(t, digest(v))
	attendee := event.Attendees()[0]
	if method != "REQUEST" || event.Id() != v.UID+"@pryday" || attendee.Email() != "kay@keepers.test" ||
		attendee.ParticipationStatus() != ics.ParticipationStatusNeedsAction || attendee.ICalParameters["RSVP"][0] != "TRUE" {
		t.Fatalf("%s %s %+v", method, event.Id(), attendee)
	}
	steps := []struct {
		name, object string
		outcome      store.MailOutcome
		goes         bool
	}{
		{"accepted", thunderbird(event, "ACCEPTED", "20270503T101000Z"), store.MailGoing, true},
		{"accepted again", thunderbird(event, "ACCEPTED", "20270503T101100Z"), store.MailNoChange, true},
		{"declined", exchange(event, "DECLINED", "20270503T101200Z", ""), store.MailNotGoing, false},
		{"declined again", exchange(event, "DECLINED", "20270503T101300Z", ""), store.MailNoChange, false},
		{"an older yes that was late", thunderbird(event, "ACCEPTED", "20270503T101130Z"), store.MailNoChange, false},
		{"accepted after all", exchange(event, "ACCEPTED", "20270503T101400Z", ""), store.MailGoing, true},
	}
	for i, step := range steps {
		in := p.comesIn(t, "kay@keepers.test", organiser, fromCalendar(organiser, fmt.Sprint("step", i), step.object))
		now := p.visitNow(t, v.ID)
		if goes := slices.Contains(now.Who, p.member); in.Outcome != step.outcome || goes != step.goes || now.On != v.On {
			t.Errorf("%s: %s (%s), goes %t on %s", step.name, in.Outcome, in.Detail, goes, now.On)
		}
		if n := len(p.deliver(t)); n != 0 {
			t.Errorf("%s: %d mails", step.name, n)
		}
	}
}

// Whoever accepted stands so in the next invitation; a change asks anew, and
// what was called off is taken back. Answers always go to one address, by which
// calendars know the event's organiser.
func TestInvitationsAreUpdated(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	v := p.visit(t)
	p.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.TakeVisit(ctx, v.ID, v.Sequence, p.member, p.today())
		return err
	})
	v = *p.visitNow(t, v.ID)
	first, _, organiser := p.invite(t, digest(v))
	if got := first.Attendees()[0].ParticipationStatus(); got != ics.ParticipationStatusAccepted {
		t.Errorf("who goes already is asked: %s", got)
	}
	p.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.MoveVisit(ctx, v.ID, v.Sequence, v.On+3, p.today())
		return err
	})
	now := p.visitNow(t, v.ID)
	moved := digest(*now)
	moved.Kind, moved.Because, moved.WasOn = scheduler.MovedMessage, owed.BecauseMoved, v.On
	second, method, again := p.invite(t, moved)
	if method != "REQUEST" || again != organiser || second.Id() != first.Id() || second.Attendees()[0].ParticipationStatus() != ics.ParticipationStatusNeedsAction {
		t.Errorf("moved: %s from %s for %s", method, again, second.Id())
	}
	if a, b := first.GetProperty(ics.ComponentPropertySequence).Value, second.GetProperty(ics.ComponentPropertySequence).Value; a >= b {
		t.Errorf("sequence %s after %s", b, a)
	}
	// An answer for the day that was: nothing is taken, and what is true is said.
	in := p.comesIn(t, "kay@keepers.test", organiser, fromCalendar(organiser, "late", thunderbird(first, "DECLINED", "20270503T101000Z")))
	_, said := parts(t, p.next(t).Text)
	if in.Outcome != store.MailTold || in.Detail != owed.AnswerMoved || !slices.Equal(p.visitNow(t, v.ID).Who, now.Who) ||
		!strings.Contains(said["text/plain"], "has moved since") || said["text/calendar"] != "" {
		t.Errorf("%+v: %s", in, said["text/plain"])
	}
	p.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.CallOffVisit(ctx, v.ID, p.visitNow(t, v.ID).Sequence, p.today()+60, p.today())
		return err
	})
	cancelled := digest(*p.visitNow(t, v.ID))
	cancelled.Kind, cancelled.Because, cancelled.WasOn, cancelled.VisitOn = scheduler.MovedMessage, owed.BecauseCancelled, now.On, 0
	third, method, _ := p.invite(t, cancelled)
	if method != "CANCEL" || third.Id() != first.Id() || third.GetProperty(ics.ComponentPropertyStatus).Value != "CANCELLED" {
		t.Errorf("called off: %s %s", method, third.Serialize(&ics.SerializationConfiguration{MaxLength: 75, NewLine: "\n"}))
	}
}

// What cannot be done is answered with what is true; nothing changes.
func TestCalendarAnswersThatCannotBeTaken(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	v := p.nobodyGoes(t, p.visit(t))
	event, _, organiser := p.invite(t, digest(v))
	yes := thunderbird(event, "ACCEPTED", "20270503T101000Z")
	replace := strings.ReplaceAll
	tests := []struct {
		name, object, because, says string
	}{
		{"maybe", replace(yes, "ACCEPTED", "TENTATIVE"), owed.AnswerMaybe, "Maybe"},
		{"sent on to somebody else", replace(yes, "ACCEPTED", "DELEGATED"), owed.AnswerUnclear, "neither yes nor no"},
		{"one of several days", replace(yes, "TRANSP:", "RECURRENCE-ID;VALUE=DATE:20270508\nTRANSP:"), owed.AnswerRepeating, "each has an answer"},
		{"another event", replace(yes, v.UID, "lunch"), owed.AnswerUnknown, "no visit here"},
		{"an event of another program", replace(yes, "@pryday", "@other.test"), owed.AnswerUnknown, "no visit here"},
		{"another day", replace(yes, "METHOD:REPLY", "METHOD:COUNTER"), owed.AnswerAnotherDay, "another day"},
		{"for several people", replace(yes, "TRANSP:", "ATTENDEE;PARTSTAT=ACCEPTED:mailto:lou@keepers.test\nATTENDEE;PARTSTAT=ACCEPTED:mailto:x@y.test\nTRANSP:"), "", ""},
	}
	for i, tt := range tests {
		in := p.comesIn(t, "kay@keepers.test", organiser, fromCalendar(organiser, fmt.Sprint("odd", i), tt.object))
		letters := p.deliver(t)
		now := p.visitNow(t, v.ID)
		if tt.because == "" { // among several, the member's own answer counts
			if in.Outcome != store.MailGoing || !slices.Equal(now.Who, []int64{p.member}) || len(letters) != 0 {
				t.Errorf("%s: %+v", tt.name, in)
			}
			continue
		}
		if in.Outcome != store.MailTold || in.Detail != tt.because || len(now.Who) != 0 || len(letters) != 1 {
			t.Fatalf("%s: %+v, %d mails, going %v", tt.name, in, len(letters), now.Who)
		}
		if _, body := parts(t, letters[0].Text); !strings.Contains(body["text/plain"], tt.says) || letters[0].To != "kay@keepers.test" {
			t.Errorf("%s: to %s\n%s", tt.name, letters[0].To, body["text/plain"])
		}
	}
}

// An invitation that was passed on is not answered by whoever got it, unless the
// mail or the answer is the member's own: programs with several addresses use
// any of them. What somebody writes beside an answer reaches the organisers.
func TestCalendarAnswersAreTheAddressees(t *testing.T) {
	t.Parallel()
	p := newPost(t)
	v := p.nobodyGoes(t, p.visit(t))
	event, _, organiser := p.invite(t, digest(v))
	object := exchange(event, "ACCEPTED", "20270503T101000Z", `Bringing the lifter\, and oil`)
	others := strings.ReplaceAll(object, "kay@", "lou@")
	fromLou := func(id, object string) string {
		return strings.ReplaceAll(fromCalendar(organiser, id, object), "Kay Orrin <kay@", "Lou Fenn <lou@")
	}
	in := p.comesIn(t, "lou@keepers.test", organiser, fromLou("x", others))
	if in.Outcome != store.MailTold || in.Detail != owed.AnswerStranger || len(p.visitNow(t, v.ID).Who) != 0 {
		t.Errorf("%+v", in)
	}
	for _, l := range p.deliver(t) {
		_, body := parts(t, l.Text)
		want := map[string]string{"kay@keepers.test": "another address than yours", "mo@keepers.test": "lou@keepers.test, not from the address"}[l.To]
		if want == "" || !strings.Contains(strings.Join(strings.Fields(body["text/plain"]), " "), want) {
			t.Errorf("to %s: %s", l.To, body["text/plain"])
		}
	}
	if in := p.comesIn(t, "kay@keepers.test", organiser, fromCalendar(organiser, "y", others)); in.Outcome != store.MailGoing {
		t.Errorf("the member's mail, with another address in the calendar: %+v", in)
	}
	p.nobodyGoes(t, *p.visitNow(t, v.ID))
	if in := p.comesIn(t, "lou@keepers.test", organiser, fromLou("z", object)); in.Outcome != store.MailGoing || !slices.Equal(p.visitNow(t, v.ID).Who, []int64{p.member}) {
		t.Errorf("the member's calendar, with another address on the mail: %+v", in)
	}
	if l := p.deliver(t); len(l) != 2 || l[0].To != "mo@keepers.test" {
		t.Errorf("%d letters", len(l))
	}
}

// Members who do not ask for invitations get none, and nobody does where no
// answers are taken.
func TestInvitationsAreAskedFor(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	v := b.visit(t)
	it := digest(v)
	if body := b.oweOne(t, it); strings.Contains(body["text/calendar"], "METHOD") || strings.Contains(body["text/calendar"], "ATTENDEE") {
		t.Errorf("nobody asked: %s", body["text/calendar"])
	}
	b.exec(t, `UPDATE member SET invitations = true`)
	if body := b.oweOne(t, it); strings.Contains(body["text/calendar"], "ATTENDEE") {
		t.Errorf("nobody takes the answer: %s", body["text/calendar"])
	}
}
