package owed

import (
	"slices"

	"pryday/scheduler"
)

// Mailed is one mail that a person was sent, in whichever club.
type Mailed struct {
	On     scheduler.Date
	ClubID int64
	Free   bool // outside of what a person gets in a week
	Weekly bool // an organiser's, about what nobody does
}

// The spans over which mails are counted, and the most in the longer one for a
// person who lately left a visit unanswered; organisers, who get a mail a week
// about what nobody does, get fewer beside it. For an organiser of several clubs
// some are kept for each, so that there is room when nobody answers there.
const (
	weekDays         = 7
	monthDays        = 30
	mostASilent      = 8
	mostBesideWeekly = 3
	keptForSilence   = 2
)

// mailOf returns the mail that a member is owed at present, if any. inTime is
// whether this is the first decision after the day's hour: what comes up later
// in the day waits for the next morning, unless that is too late.
//
// A person gets at most one mail a day, and at most the rules' MostAWeek in
// seven days. Outside of both are changes to a visit of the next three days,
// and outside of the week's count is the mail on the eve of a visit that the
// person took. Somebody who answers nothing gets at most eight in a month. A
// mail that goes out anyway carries everything that there is to tell. What is
// held back comes out later, as long as it is of use.
func (d *decision) mailOf(m *scheduler.Member, today scheduler.Date, inTime bool) (Message, bool) {
	items := d.itemsFor(m, today)
	mails := d.before.Mail[m.PersonID]
	daily := DailyKey(d.club.ID, m.ID, today)
	weekly := weeklyKey(d.club.ID, m.ID, today)
	sent := d.seen(daily) || d.seen(weekly) || slices.ContainsFunc(mails, func(x Mailed) bool { return x.On == today && x.ClubID != d.club.ID })
	urgent := slices.DeleteFunc(slices.Clone(items), func(it Item) bool {
		return !it.cannotWait(today) || it.Kind == scheduler.DayMessage && inTime && !d.takenBy(m, it.VisitUID)
	})
	if sent || !inTime {
		if len(urgent) == 0 {
			return Message{}, false
		}
		key := daily
		if sent {
			key = changeKey(d.club.ID, m.ID, today, urgent[0])
		}
		msg := message(key, m.ID, today, urgent)
		msg.Free = true
		return msg, !d.seen(key)
	}
	free := len(urgent) > 0 || slices.ContainsFunc(items, func(it Item) bool { return d.isEve(m, &it, today) })
	full := spent(mails, today) >= d.club.Rules.Reminders.MostAWeek
	todays := slices.ContainsFunc(items, func(it Item) bool { return it.cannotWait(today) })
	if week := d.weekly(m, today); len(week) > 0 && !free && !full && !todays && !d.weekliesSpent(m, mails, today, week[0].Because == BecauseSilent) {
		return message(weekly, m.ID, today, week), true
	}
	if len(items) == 0 || !free && (full || d.hadEnough(m, mails, today)) {
		return Message{}, false
	}
	msg := message(daily, m.ID, today, items)
	msg.Free = free
	return msg, true
}

// spent counts the mails of the last days that count.
func spent(mails []Mailed, today scheduler.Date) int {
	n := 0
	for _, x := range mails {
		if !x.Free && x.On > today-weekDays && x.On <= today {
			n++
		}
	}
	return n
}

// hadEnough reports whether a member who lately left a visit unanswered, or an
// organiser who has not said a word for a month, got as many mails as such a
// person gets.
func (d *decision) hadEnough(m *scheduler.Member, mails []Mailed, today scheduler.Date) bool {
	said, left := d.answers(m.ID, today)
	weekly, others := monthOf(mails, today)
	if weekly > 0 && !said {
		return others >= mostBesideWeekly || weekly+others >= mostASilent-d.kept(m)
	}
	return left && others >= mostASilent
}

// weekliesSpent reports whether an organiser who has not said a word for a month
// got as many mails as such a person gets: organisers of several clubs get a
// weekly mail of each, one that says where nobody answers before all else.
// Whoever gets more besides says a word in another club.
func (d *decision) weekliesSpent(m *scheduler.Member, mails []Mailed, today scheduler.Date, silent bool) bool {
	said, _ := d.answers(m.ID, today)
	weekly, others := monthOf(mails, today)
	most := mostASilent
	if !silent {
		most -= d.kept(m)
	}
	return !said && others <= mostBesideWeekly && weekly+others >= most
}

// kept returns how many of a silent organiser's mails of a month are kept for
// saying where nobody answers: none in a single club, where the other mails
// leave room.
func (d *decision) kept(m *scheduler.Member) int {
	return keptForSilence * d.before.Leads[m.PersonID]
}

// monthOf counts the mails of the last month that count: organisers' weekly
// ones, and others.
func monthOf(mails []Mailed, today scheduler.Date) (weekly, others int) {
	for _, x := range mails {
		switch {
		case x.Free || x.On <= today-monthDays || x.On > today:
		case x.Weekly:
			weekly++
		default:
			others++
		}
	}
	return weekly, others
}

// isEve reports whether an item reminds a member, the day before, of a visit
// that the member took.
func (d *decision) isEve(m *scheduler.Member, it *Item, today scheduler.Date) bool {
	return it.Kind == scheduler.DigestMessage && it.VisitOn == today+1 && d.takenBy(m, it.VisitUID)
}
