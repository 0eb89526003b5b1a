package calendar

import (
	"reflect"
	"testing"
	"time"

	"pryday/scheduler"
)

// The digest of an event differs when any of its fields does, but for the two
// that say when it changed.
func TestDigest(t *testing.T) {
	e := event("a", day(2027, 5, 8))
	e.Sequence = 3
	other := Event{
		UID: "b", On: e.On + 1, Hours: &scheduler.HoursOfDay{From: 60, Until: 90}, Zone: "Europe/Dublin", ChangedAt: e.ChangedAt.Add(time.Hour),
		Sequence: 4, Status: Tentative, Summary: "s", Description: "d", Location: "l", Geo: &Geo{1, 2}, URL: "https://a.example/", Categories: []string{"c"},
		Colour: "tan", Alarm: time.Hour, Organiser: &Organiser{Address: "a@b.example"}, Attendee: &Attendee{Accepted: true},
	}
	from := reflect.ValueOf(other)
	for i := range from.NumField() {
		changed := e
		reflect.ValueOf(&changed).Elem().Field(i).Set(from.Field(i))
		name := from.Type().Field(i).Name
		if silent := name == "ChangedAt" || name == "Sequence"; (changed.Digest() == e.Digest()) != silent {
			t.Errorf("another %s: the same digest is %t", name, !silent)
		}
	}
	hours := e
	hours.Hours = &scheduler.HoursOfDay{From: 60, Until: 90}
	again := hours
	again.Hours = &scheduler.HoursOfDay{From: 60, Until: 90}
	if hours.Digest() != again.Digest() {
		t.Error("equal events have two digests")
	}
}
