package notify

import (
	"time"

	"pryday/notify/calendar"
	"pryday/scheduler"
)

// attached is the calendar file for a mail: the visits to come, moved or
// cancelled that it tells of. Whoever subscribes to a calendar address has
// them already, and a second copy would go stale: for them it is nil.
func (w *writer) attached(d *draft, items []scheduler.OwedItem) ([]byte, error) {
	if d.papers.subscribed[d.member.ID] {
		return nil, nil
	}
	var visits []calendar.VisitRecord
	for _, it := range items {
		v := d.papers.visits[it.VisitUID]
		tells := it.Kind == scheduler.DigestMessage || it.Kind == scheduler.MovedMessage && it.Because != scheduler.BecauseDoneBefore
		if v != nil && tells {
			visits = append(visits, calendar.VisitRecord{Visit: *v, ChangedAt: d.record.OwedAt, CancelledUntil: d.today + calendar.CancelledDays})
		}
	}
	events := calendar.EventsOf(d.papers.club, visits, calendar.Options{
		Today: d.today, Language: d.member.Language, Units: d.member.Units, FarTentative: true,
		VisitURL: func(uid string) string { return w.addresses.visit(uid, d.papers.club.ID) },
	})
	if len(events) == 0 {
		return nil, nil
	}
	for i := range events {
		events[i].ChangedAt = events[i].ChangedAt.UTC().Truncate(time.Second)
	}
	return calendar.Render(calendar.Feed{Events: events, Zone: scheduler.MemberLocation(d.papers.club, d.member).String()})
}
