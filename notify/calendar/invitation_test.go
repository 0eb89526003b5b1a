package calendar

import (
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"

	"pryday/scheduler"
)

// invited is one visit as an invitation to its club's first member.
func invited(t *testing.T, change func(*scheduler.Visit, *scheduler.Member), moved bool) (Method, *ics.Calendar, string) {
	t.Helper()
	club := &scheduler.Club{
		Name: "Hollow Lane Bees", Rules: scheduler.DefaultRules(),
		Members: []scheduler.Member{{ID: 7, Name: "Kay Orrin", Email: "kay@keepers.test"}},
		Apiaries: []scheduler.Apiary{{
			ID: 1, Name: "Orchard", Latitude: 52.1, Longitude: -3.4, Timezone: "Europe/London", AccessNotes: "gate code 4711",
			Hives: []scheduler.Hive{{ID: 1, Name: "Larch", Boxes: []scheduler.Box{{ID: 1, Name: "R14", Kind: "deep", SetUpOn: day(2025, 5, 1)}}}},
		}},
	}
	v := VisitRecord{
		Visit:     scheduler.Visit{ID: 1, UID: "0d3f", ApiaryID: 1, On: day(2027, 5, 8), Status: scheduler.Confirmed, Sequence: 3},
		ChangedAt: time.Date(2027, 5, 1, 10, 0, 0, 0, time.UTC), CancelledUntil: day(2027, 6, 1),
	}
	m := club.Members[0]
	if change != nil {
		change(&v.Visit, &m)
	}
	method, object, err := Invitation(club, v, &m, Organiser{Name: `Bees; "Hollow": Lane`, Address: "bees+abc@club.test"}, moved, Options{Today: day(2027, 5, 1), FarTentative: true})
	if err != nil {
		t.Fatal(err)
	}
	cal, err := ics.ParseCalendar(strings.NewReader(string(object)))
	if err != nil || len(cal.Events()) != 1 {
		t.Fatalf("%v in\n%s", err, object)
	}
	return method, cal, string(object)
}

// RFC 5546, 3.2.2: a request has a METHOD, an ORGANIZER and its ATTENDEEs, UID,
// DTSTAMP, DTSTART, SEQUENCE and SUMMARY; 3.2.5: a cancellation has them too.
func TestInvitation(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(*scheduler.Visit, *scheduler.Member)
		moved  bool
		method Method
		status string
		says   ics.ParticipationStatus
	}{
		{"nobody goes", nil, false, Request, "CONFIRMED", "NEEDS-ACTION"},
		{"not fixed", func(v *scheduler.Visit, _ *scheduler.Member) { v.Status = scheduler.Tentative }, false, Request, "TENTATIVE", "NEEDS-ACTION"},
		{"expected", func(v *scheduler.Visit, _ *scheduler.Member) { v.Who = []int64{7} }, false, Request, "CONFIRMED", "NEEDS-ACTION"},
		{"goes already", func(v *scheduler.Visit, _ *scheduler.Member) { v.Who, v.Taken = []int64{7}, []int64{7} }, false, Request, "CONFIRMED", "ACCEPTED"},
		{"went on another day", func(v *scheduler.Visit, _ *scheduler.Member) { v.Who, v.Taken = []int64{7}, []int64{7} }, true, Request, "CONFIRMED", "NEEDS-ACTION"},
		{"called off", func(v *scheduler.Visit, _ *scheduler.Member) { v.Status = scheduler.Cancelled }, false, Cancel, "CANCELLED", "NEEDS-ACTION"},
		{"done by others", func(v *scheduler.Visit, _ *scheduler.Member) { v.Status = scheduler.Done }, false, Cancel, "CANCELLED", "NEEDS-ACTION"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			method, cal, text := invited(t, tt.change, tt.moved)
			e := cal.Events()[0]
			for name, want := range map[ics.ComponentProperty]string{
				ics.ComponentPropertyUniqueId: "0d3f@pryday", ics.ComponentPropertySequence: "3", ics.ComponentPropertyStatus: tt.status,
				ics.ComponentPropertyDtStart: "20270508", ics.ComponentPropertyDtstamp: "20270501T100000Z", ics.ComponentPropertyOrganizer: "mailto:bees+abc@club.test",
			} {
				if p := e.GetProperty(name); p == nil || p.Value != want {
					t.Errorf("%s is %+v, want %s", name, p, want)
				}
			}
			a := e.Attendees()
			if method != tt.method || !strings.Contains(text, "\r\nMETHOD:"+string(tt.method)+"\r\n") || len(a) != 1 || a[0].Email() != "kay@keepers.test" || a[0].ParticipationStatus() != tt.says {
				t.Errorf("%s to %+v", method, a)
			}
			for _, param := range []string{"RSVP=TRUE", "ROLE=REQ-PARTICIPANT", "CN=Kay Orrin"} {
				if !strings.Contains(strings.ReplaceAll(text, "\r\n ", ""), param) {
					t.Errorf("no %s in\n%s", param, text)
				}
			}
			if strings.Contains(text, "4711") || strings.Contains(text, "GEO") {
				t.Errorf("it tells too much:\n%s", text)
			}
		})
	}
}

// No name or address adds a parameter or a line.
func TestInvitationOfAnyName(t *testing.T) {
	for _, name := range []string{`O"Rrin`, "Orrin, Kay; RSVP=FALSE:mailto:x@y.test", "Kay\r\nATTENDEE:mailto:x@y.test", strings.Repeat("ä", 300), "\x00"} {
		_, cal, text := invited(t, func(_ *scheduler.Visit, m *scheduler.Member) { m.Name, m.Email = name, "kay+50%#1@keepers.test" }, false)
		if a := cal.Events()[0].Attendees(); len(a) != 1 || a[0].Email() != "kay+50%25%231@keepers.test" || a[0].ICalParameters["RSVP"][0] != "TRUE" {
			t.Errorf("%q: %+v\n%s", name, a, text)
		}
		for line := range strings.SplitSeq(text, "\r\n") {
			if len(line) > 75 || strings.ContainsAny(line, "\r\n\x00") {
				t.Errorf("%q: line %q", name, line)
			}
		}
	}
	club := &scheduler.Club{Apiaries: []scheduler.Apiary{{ID: 1, Name: "x", Timezone: "UTC"}}}
	v := VisitRecord{Visit: scheduler.Visit{UID: "u", ApiaryID: 1, On: day(2027, 5, 8), Status: scheduler.Confirmed}, ChangedAt: time.Unix(1, 0)}
	for _, bad := range []string{"", "kay", "kay @keepers.test", "kay@keepers.test\r\nX:1", `k"@keepers.test`} {
		m := &scheduler.Member{Email: bad}
		if _, object, err := Invitation(club, v, m, Organiser{Address: "bees@club.test"}, false, Options{Today: day(2027, 5, 1)}); err == nil {
			t.Errorf("%q is invited:\n%s", bad, object)
		}
	}
}
