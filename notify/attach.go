package notify

import (
	"slices"
	"time"

	"pryday/notify/calendar"
	"pryday/notify/mail"
	"pryday/scheduler"
	"pryday/scheduler/owed"
)

// attached is the calendar file for a mail: the visits that it tells of for
// the first time, as moved, or as cancelled. Whoever subscribes to a calendar
// address has them already, and a second copy would go stale: for them it is
// nil.
func (w *writer) attached(d *draft, items []owed.Item) ([]byte, error) {
	if d.records.subscribed[d.member.ID] || w.invites(d.member) {
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
	events := calendar.EventsOf(d.records.club, visits, w.calendarOptions(d))
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

func (w *writer) calendarOptions(d *draft) calendar.Options {
	return calendar.Options{
		Today: d.today, Language: d.member.Language, Units: d.member.Units, FarTentative: true,
		VisitURL: func(v *calendar.VisitRecord) string {
			return w.addresses.answer(LookDeed, d.records.club.ID, d.member, &v.Visit, d.record.OwedAt)
		},
	}
}

// invites reports whether a member gets visits as invitations: only where
// somebody takes the answers.
func (w *writer) invites(m *scheduler.Member) bool { return m.Prefs.Invitations && w.replies != nil }

// invitations are the visits that a mail tells of, each as a calendar answers
// it: to come, moved, or called off.
func (w *writer) invitations(d *draft, items []owed.Item) (out []mail.Invite, err error) {
	if !w.invites(d.member) {
		return nil, nil
	}
	organiser := calendar.Organiser{Name: d.records.club.Name, Address: w.organiserOf(d.records.club, d.member)}
	options := w.calendarOptions(d)
	if h := d.member.Prefs.VisitHours; h != nil {
		options.Hours, options.Zone = h, d.member.Timezone
	}
	for _, it := range items {
		v := d.records.visits[it.VisitUID]
		if v == nil {
			continue
		}
		record := calendar.VisitRecord{Visit: *v, ChangedAt: d.record.OwedAt.UTC().Truncate(time.Second), CancelledUntil: d.today + calendar.CancelledDays}
		method, object, err := calendar.Invitation(d.records.club, record, d.member, organiser, it.Because == owed.BecauseMoved, options)
		if err != nil {
			return nil, err
		}
		out = append(out, mail.Invite{Method: string(method), Object: object})
	}
	return out, nil
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
