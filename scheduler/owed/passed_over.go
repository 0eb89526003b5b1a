package owed

import (
	"slices"

	"pryday/scheduler"
)

// passedOver returns what a member should have had on the days on which
// nobody decided, and would now come too late.
func (d *decision) passedOver(m *scheduler.Member, h *hour) []Message {
	var out []Message
	today := h.today
	first := max(scheduler.DateOf(d.before.Since.In(h.zone)), today-lookBackDays)
	for day := first; day < today; day++ {
		send := SendInstant(day, h.minute, h.zone)
		if scheduler.DateOf(send) != day || !d.before.Since.Before(send) || m.Prefs.PausedUntil > day {
			continue // a day that the zone skipped, was decided, or was paused
		}
		key := DailyKey(d.club.ID, m.ID, day)
		if d.seen(key) {
			continue
		}
		var items []Item
		why := PassedNearer
		for _, v := range d.hears[m.ID] {
			it, late := d.tooLate(m, v, day, today)
			if late == "" || slices.Contains(m.Prefs.Mute, it.Kind) {
				continue
			}
			items = append(items, it)
			if late == PassedDayOver {
				why = late
			}
		}
		if len(items) > 0 {
			msg := message(key, m.ID, day, items)
			msg.PassedOver = why
			out = append(out, msg)
		}
	}
	return out
}

// tooLate returns what a member should have been told about a visit on a past
// day, and why telling it today is of no use; an empty reason when there was
// nothing to tell or it will still be told.
func (d *decision) tooLate(m *scheduler.Member, v *scheduler.Visit, day, today scheduler.Date) (Item, string) {
	if v.Status == scheduler.Cancelled || v.On < day || v.FirstSeen > day {
		return Item{}, ""
	}
	it := Item{VisitID: v.ID, VisitUID: v.UID, ApiaryID: v.ApiaryID, VisitOn: v.On}
	for _, b := range v.Boxes {
		it.BoxIDs = append(it.BoxIDs, b.BoxID)
	}
	if last := d.told[toldKey{m.ID, "visit " + v.UID}]; v.On == day && last.On == day && (last.ToldOn >= day-1 || !v.IsTakenBy(m.ID)) {
		return Item{}, ""
	}
	if v.On == day {
		it.Kind, it.Because = scheduler.DayMessage, BecauseToday
		return it, PassedDayOver
	}
	k := int(v.On - day)
	if !slices.Contains(d.club.DaysBeforeOf(m), k) {
		return Item{}, ""
	}
	if last := d.told[toldKey{m.ID, "visit " + v.UID}]; last.On == v.On && last.ToldOn >= day {
		return Item{}, ""
	}
	it.Kind, it.Because = scheduler.DigestMessage, BecauseDaysBefore
	switch {
	case v.On < today:
		return it, PassedDayOver
	case v.On == today || nearest(d.club.DaysBeforeOf(m), int(v.On-today)) < k:
		return it, PassedNearer
	}
	return Item{}, ""
}
