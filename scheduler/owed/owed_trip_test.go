package owed

import (
	"slices"
	"testing"
	"time"

	"pryday/scheduler"

	"pgregory.net/rapid"
)

// A member who takes the time zone along on a trip, east or west, on any day
// and at any hour, hears of a visit as often as at home, and no civil day
// twice.
func TestOwedOnATrip(t *testing.T) {
	cities := []string{"America/Toronto", "Asia/Tokyo", "Pacific/Honolulu", "Pacific/Kiritimati", "Europe/London", "Asia/Kathmandu"}
	rapid.Check(t, func(r *rapid.T) {
		c := mailClub()
		traveller := &c.Members[1]
		traveller.Timezone = cities[0]
		v := scheduler.Visit{ID: 7, UID: "a", ApiaryID: 4, On: scheduler.NewDate(2027, time.June, 5), Status: scheduler.Confirmed, Who: []int64{2}, Taken: []int64{2}, Boxes: []scheduler.VisitBox{{BoxID: 6}}}
		p := &scheduler.Plan{Visits: []scheduler.Visit{v}}
		c.Visits = p.Visits
		trip := map[int]string{}
		for range rapid.IntRange(1, 4).Draw(r, "flights") {
			trip[rapid.IntRange(0, 24*18).Draw(r, "hour")] = rapid.SampledFrom(cities).Draw(r, "to")
		}
		box := newMailbox()
		for hour := range 24 * 18 {
			if to, flies := trip[hour]; flies {
				traveller.Timezone = to
			}
			box.tick(t, c, p, time.Date(2027, time.May, 22, hour, 0, 0, 0, time.UTC))
		}
		var reasons []string
		days := map[scheduler.Date]bool{}
		for _, m := range slices.Concat(box.sent, box.passed) {
			if m.MemberID != 2 || m.PassedOver != "" {
				continue
			}
			if days[m.On] {
				r.Fatalf("two mails on %s: %v", m.On, box.sent)
			}
			days[m.On] = true
			reasons = append(reasons, m.Reason)
		}
		// Whoever crosses the date line may find a day gone; what belonged on it
		// then comes a day late, or is no use any more.
		if n := len(reasons); n > 3 || n < 2 || (reasons[0] != BecauseDaysBefore && reasons[0] != BecauseCaughtUp) {
			r.Fatalf("told %v; passed over %v", reasons, box.passed)
		}
	})
}
