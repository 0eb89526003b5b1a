package records

import (
	"reflect"
	"testing"

	"pryday/scheduler"
)

// TestOnePreferenceTravels: a member who set one thing alone keeps it.
func TestOnePreferenceTravels(t *testing.T) {
	at := scheduler.ClockTime(6 * 60)
	for name, one := range map[string]scheduler.Preferences{
		"days before":   {DaysBefore: []int{3}},
		"mail's hour":   {SendAt: &at},
		"muted":         {Mute: []scheduler.MessageKind{scheduler.DigestMessage}},
		"paused":        {PausedUntil: scheduler.NewDate(2027, 5, 1)},
		"timed visits":  {VisitHours: &scheduler.HoursOfDay{From: 9 * 60, Until: 12 * 60}},
		"long mail":     {LongMail: true},
		"invitations":   {Invitations: true},
		"hours a day":   {HoursADay: 4.5},
		"visits a week": {VisitsAWeek: 2},
		"weekdays":      {Weekdays: 1 << 6},
	} {
		c := &scheduler.Club{
			Name: "Sandpit Bees", Rules: scheduler.DefaultRules(),
			Members: []scheduler.Member{{ID: 1, Name: "Edda Marrow", Email: "edda@example.org", Role: scheduler.Organiser, Prefs: one}},
		}
		data, err := Encode(c)
		if err != nil {
			t.Fatal(err)
		}
		again, err := Parse(data)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if got := again.Members[0].Prefs; !reflect.DeepEqual(got, one) {
			t.Errorf("%s: %+v came back as %+v", name, one, got)
		}
	}
}
