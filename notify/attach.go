package notify

import (
	"slices"
	"time"

	"pryday/notify/calendar"
	"pryday/scheduler"
	"pryday/scheduler/owed"
)

// attached is the calendar file for a mail: the visits that it tells of for
// the first time, as moved, or as cancelled. Whoever subscribes to a calendar
// address has them already, and a second copy would go stale: for them it is
// nil.
func (w *writer) attached(d *draft, items []owed.Item) ([]byte, error) {
	if d.records.subscribed[d.member.ID] {
		return nil, nil
	}
	var visits []calendar.VisitRecord
	for _, it := range items {
		v := d.records.visits[it.VisitUID]
		first := it.Kind == scheduler.DigestMessage && isFirst(d.records.club, d.member, it.VisitOn-d.record.On)
		changed := it.Kind == scheduler.MovedMessage && it.Because != owed.BecauseDoneBefore
		if v != nil && (first || changed) {
			visits = append(visits, calendar.VisitRecord{Visit: *v, ChangedAt: d.record.OwedAt, CancelledUntil: d.today + calendar.CancelledDays})
		}
	}
	if len(visits) == 0 {
		return nil, nil
	}
	events := calendar.EventsOf(d.records.club, visits, calendar.Options{
		Today: d.today, Language: d.member.Language, Units: d.member.Units, FarTentative: true,
		VisitURL: func(v *calendar.VisitRecord) string { return w.addresses.visit(v.UID, d.records.club.ID) },
	})
	if len(events) == 0 {
		return nil, nil
	}
	organiser := &calendar.Organiser{Name: d.records.club.Name, Address: w.from.Address}
	for i := range events {
		events[i].ChangedAt = events[i].ChangedAt.UTC().Truncate(time.Second)
		events[i].Organiser = organiser
	}
	return calendar.Render(calendar.Feed{Method: calendar.Publish, Events: events, Zone: d.records.club.ZoneOf(d.member).String()})
}

// isFirst reports whether the reminder that goes out so long before a visit is
// the first that the member asked for.
func isFirst(c *scheduler.Club, m *scheduler.Member, left scheduler.Date) bool {
	days := c.DaysBeforeOf(m)
	for _, d := range days {
		if scheduler.Date(d) >= left && d != slices.Max(days) {
			return false
		}
	}
	return true
}
