package owed

import (
	"slices"

	"pryday/scheduler"
)

// wordDays is how long after its day a visit may stay without a word before
// that counts as silence.
const wordDays = 3

// rounds returns how many visits of an apiary in a row, up to the last one,
// came to nothing without a word from anybody.
func (d *decision) rounds(apiary int64, today scheduler.Date) int {
	if n, ok := d.silent[apiary]; ok {
		return n
	}
	n := 0
	for _, v := range slices.Backward(d.visits) {
		if v.ApiaryID != apiary || v.NoTime && len(v.Who) == 0 { // nobody was asked, who could have answered
			continue
		}
		if v.Status == scheduler.Done || len(v.Taken)+len(v.Refused) > 0 {
			break
		}
		if unsaid(&v, today) {
			n++
		}
	}
	d.silent[apiary] = n
	return n
}

// unsaid reports whether nobody said a word of a visit in time.
func unsaid(v *scheduler.Visit, today scheduler.Date) bool {
	return v.Status == scheduler.Missed || v.Status == scheduler.Unanswered && today-v.On > wordDays
}

// answers tells what became of the visits of the last month that were a
// member's to go on: said is whether the member said a word about one, and
// left whether the last of them was left without one.
func (d *decision) answers(member int64, today scheduler.Date) (said, left bool) {
	last := true
	for _, v := range slices.Backward(d.visits) {
		if v.On < today-monthDays {
			break
		}
		mine := slices.Contains(v.Who, member)
		switch {
		case v.IsTakenBy(member), v.HasRefused(member), mine && v.Status == scheduler.Done:
			said, last = true, false
		case mine && unsaid(&v, today):
			left, last = left || last, false
		}
	}
	return said, left
}

// rests reports whether a member is to hear nothing about an apiary today:
// nobody answers there, and the last mail about it is not long ago. Whoever
// took the visit is told of it all the same, and so is whoever would else go
// in vain.
func (d *decision) rests(m *scheduler.Member, it *Item, today scheduler.Date) bool {
	rest := scheduler.SilentRest(d.rounds(it.ApiaryID, today), &d.club.Rules)
	if rest == 0 || it.Kind == scheduler.MovedMessage || d.takenBy(m, it.VisitUID) {
		return false
	}
	return today-d.lastAbout(m.ID, it.ApiaryID) < rest
}

func (d *decision) takenBy(m *scheduler.Member, uid string) bool {
	return slices.ContainsFunc(d.hears[m.ID], func(v *scheduler.Visit) bool { return v.UID == uid && v.IsTakenBy(m.ID) })
}

// lastAbout returns the day of the last mail that told a member about an
// apiary, its visits or its boxes; zero for none.
func (d *decision) lastAbout(member, apiary int64) scheduler.Date {
	return d.toldAbout[[2]int64{member, apiary}]
}

// weekly returns what an organiser is told once a week in a mail of its own:
// apiaries where nobody answers, boxes long past their day with nobody having
// said that they go, and visits for which nobody has time.
func (d *decision) weekly(m *scheduler.Member, today scheduler.Date) []Item {
	r := &d.club.Rules.Reminders
	if m.Role != scheduler.Organiser || r.EscalateAfterDays == 0 || slices.Contains(m.Prefs.Mute, scheduler.EscalateMessage) || m.Prefs.PausedUntil > today {
		return nil
	}
	for i := range d.club.Apiaries {
		if last, ok := d.told[toldKey{m.ID, aboutApiary(scheduler.EscalateMessage, d.club.Apiaries[i].ID)}]; ok && today-last.ToldOn < escalateEvery {
			return nil
		}
	}
	var out []Item
	for i := range d.club.Apiaries {
		a := &d.club.Apiaries[i]
		var long []int64
		for _, b := range d.overdue[a.ID] {
			if today-b.Due >= scheduler.Date(r.EscalateAfterDays) && !d.somebodyGoes(b.BoxID, a.ID, today) {
				long = append(long, b.BoxID)
			}
		}
		it := Item{Kind: scheduler.EscalateMessage, ApiaryID: a.ID, BoxIDs: long}
		switch n := d.rounds(a.ID, today); {
		case n >= r.QuietAfter && d.busy(a.ID):
			it.Because, it.Rounds = BecauseSilent, n
		case len(long) > 0:
			it.Because = BecauseEscalated
		default:
			continue
		}
		out = append(out, it)
	}
	for i := range d.club.Apiaries {
		if id := d.club.Apiaries[i].ID; slices.ContainsFunc(d.near[id], func(v *scheduler.Visit) bool { return lacksPeople(v, today) }) {
			out = append(out, Item{Kind: scheduler.EscalateMessage, Because: BecauseNoTime, ApiaryID: id})
		}
	}
	slices.SortStableFunc(out, func(a, b Item) int { return b.Rounds - a.Rounds })
	return out
}

// lacksPeople reports whether nobody has time for a visit that is near enough
// for organisers to hear of it.
func lacksPeople(v *scheduler.Visit, today scheduler.Date) bool {
	return v.LacksPeople(today) && v.On <= today+scheduler.OverloadDays
}

// busy reports whether there is anything to do at an apiary: a visit to come
// or a box past its day.
func (d *decision) busy(apiary int64) bool {
	return len(d.near[apiary]) > 0 || len(d.overdue[apiary]) > 0
}

// somebodyGoes reports whether somebody has said that they go on a visit that
// opens a box, in the notice days or lately.
func (d *decision) somebodyGoes(boxID, apiaryID int64, today scheduler.Date) bool {
	for _, v := range d.visits {
		soon := v.Status.Open() && v.On >= today && v.On-today <= scheduler.Date(d.club.Rules.NoticeDays)
		if v.ApiaryID != apiaryID || !v.IsTaken() || !soon && v.Status != scheduler.Unanswered {
			continue
		}
		if v.Lists(boxID) {
			return true
		}
	}
	return false
}
