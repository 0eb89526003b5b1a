package season

import (
	"fmt"
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/owed"
)

// keepsBudget holds every mailbox against the rules: one mail a day, three in
// seven days; more only for changes to a visit of the next three days, and for
// the eve of a visit that the person took, which does not count in the week.
func (w *town) keepsBudget() {
	w.Helper()
	l := w.ledger
	for address, mails := range l.byPerson() {
		for i, m := range mails {
			day, week := 0, 0
			for _, o := range mails[:i+1] {
				switch {
				case l.changesSoon(&o):
				case o.on == m.on:
					day++
					fallthrough
				case o.on > m.on-7:
					if !l.eve(&o) {
						week++
					}
				}
			}
			if day > 1 {
				w.Errorf("%s got %d mails on %s", address, day, m.on)
			}
			if week > 3 {
				w.Errorf("%s got %d mails in the week to %s", address, week, m.on)
			}
		}
	}
}

// changesSoon reports whether a mail tells of a change to a visit of the next
// three days, which may have put it on the very day.
func (l *ledger) changesSoon(m *mailed) bool {
	near := func(d scheduler.Date) bool { return d >= m.on && d <= m.on+3 }
	return slices.ContainsFunc(m.items, func(it owed.Item) bool {
		return it.Kind == scheduler.MovedMessage && (near(it.VisitOn) || near(it.WasOn)) ||
			it.Kind == scheduler.DayMessage
	})
}

// eve reports whether a mail is that of the day before a visit that its reader
// took.
func (l *ledger) eve(m *mailed) bool {
	return slices.ContainsFunc(m.items, func(it owed.Item) bool {
		x := l.lives[it.VisitUID]
		return x != nil && slices.Contains(x.took, m.member) && it.Kind == scheduler.DigestMessage && it.VisitOn == m.on+1
	})
}

// keepsQuiet holds the mails of a season in which nobody answers to so many a
// person in any 30 days.
func (w *town) keepsQuiet(most int) {
	w.Helper()
	if t := w.ledger.tally("", len(w.people)); t.most > most {
		w.Errorf("%d mails in 30 days to %s, want at most %d", t.most, t.whom, most)
	}
}

// keepsIdentity: what came to nothing does not come back within the week under
// another name.
func (w *town) keepsIdentity() {
	w.Helper()
	for _, again := range []map[string]string{w.ledger.remade, w.ledger.returned} {
		for _, says := range again {
			w.Error(says)
		}
	}
}

// keepsToTheQuestion: while a visit waits for an answer, those who are asked
// hear nothing else about its boxes.
func (w *town) keepsToTheQuestion() {
	w.Helper()
	for _, m := range w.ledger.mails {
		for _, it := range m.items {
			for _, x := range w.ledger.lives {
				waits := x.club == m.club && x.unanswered.From != 0 && x.unanswered.From <= m.on && (x.unanswered.Until == 0 || m.on < x.unanswered.Until)
				if !waits || it.VisitUID == x.UID || !slices.Contains(x.Who, m.member) || m.state != "sent" {
					continue
				}
				other := w.ledger.lives[it.VisitUID]
				if other != nil && (slices.Contains(other.took, m.member) || other.On <= x.On+7) || it.Kind == scheduler.EscalateMessage || it.Kind == scheduler.MovedMessage {
					continue
				}
				for _, b := range x.Boxes {
					if slices.Contains(it.BoxIDs, b.BoxID) {
						w.Errorf("%s to %s on %s: %s, while the visit of %s waits for an answer", m.kind, m.address, m.on, it.Because, x.On)
						break
					}
				}
			}
		}
	}
}

// keepsWeekly: the weekly mail says what it is and nothing else.
func (w *town) keepsWeekly() {
	w.Helper()
	for _, m := range w.ledger.mails {
		weekly := slices.ContainsFunc(m.items, func(it owed.Item) bool { return it.Kind == scheduler.EscalateMessage })
		if !weekly || m.state != "sent" {
			continue
		}
		subject := ""
		for _, x := range w.people[m.address].letters {
			if x.id == m.id {
				subject = x.subject
			}
		}
		if !strings.Contains(subject, "nobody answers") && !strings.Contains(subject, "nobody is going") {
			w.Errorf("the weekly mail to %s on %s is called %q", m.address, m.on, subject)
		}
		if slices.ContainsFunc(m.items, func(it owed.Item) bool { return it.Kind != scheduler.EscalateMessage }) {
			w.Errorf("the weekly mail to %s on %s tells other things", m.address, m.on)
		}
	}
}

// Where nobody answers, organisers hear of an apiary in the next weekly mail
// once the second visit in a row has had three days to be answered; and from
// then on every week, or a day or two later where another mail could not wait.
// Whoever has got all the mails of a month, as from two clubs that are silent from
// the first day on, hears again when the month has room.
const (
	heardWithin = 3 + 1 + 7
	heardEvery  = 7 + 2
)

// keepsOrganisersTold holds their mails against the apiaries where nobody says
// a word.
func (w *town) keepsOrganisersTold() {
	w.Helper()
	for _, club := range w.clubs {
		for _, organiser := range w.organisers(club) {
			told := w.ledger.toldSilence(club, organiser)
			for apiary, silence := range w.ledger.silences(club) {
				last, within := silence.From, scheduler.Date(heardWithin)
				check := func(on scheduler.Date) {
					if late := last + within; on > late && w.ledger.hadRoom(organiser, late, min(on, late+heardEvery)) {
						w.Errorf("organiser %d heard nothing of apiary %d from %s to %s, silent from %s to %s", organiser, apiary, last, on, silence.From, silence.Until)
					}
					last, within = on, heardEvery
				}
				for _, t := range told {
					if t.on >= silence.From && t.on <= silence.Until && slices.Contains(t.apiaries, apiary) {
						check(t.on)
					}
				}
				check(silence.Until)
			}
		}
	}
}

// mostAMonth is how many mails whoever answers nothing gets in 30 days.
const mostAMonth = 8

// hadRoom reports whether a member could have been mailed on one of the days from
// one to before another.
func (l *ledger) hadRoom(member int64, from, before scheduler.Date) bool {
	at := slices.IndexFunc(l.mails, func(m mailed) bool { return m.member == member })
	for on := from; on < before; on++ {
		n := 0
		for _, m := range l.mails {
			if at >= 0 && m.address == l.mails[at].address && !m.free && m.state == "sent" && m.on > on-30 && m.on <= on {
				n++
			}
		}
		if n < mostAMonth {
			return true
		}
	}
	return false
}

// silences returns the first silence of each apiary where there is one: from the
// day of the second visit in a row of which nobody said a word, until somebody
// says one of any.
func (l *ledger) silences(club int64) map[int64]scheduler.Period {
	out, rounds := map[int64]scheduler.Period{}, map[int64]int{}
	for _, x := range l.over(club) {
		if x.word != 0 {
			rounds[x.ApiaryID] = 0
			continue
		}
		if rounds[x.ApiaryID]++; rounds[x.ApiaryID] != 2 || out[x.ApiaryID].From != 0 {
			continue
		}
		silence := scheduler.Period{From: x.On, Until: l.until}
		for _, o := range l.lives {
			if o.club == club && o.ApiaryID == x.ApiaryID && o.On > x.On && o.word != 0 {
				silence.Until = min(silence.Until, max(o.word, x.On))
			}
		}
		out[x.ApiaryID] = silence
	}
	return out
}

// over are the visits whose day came, by day.
func (l *ledger) over(club int64) (out []*life) {
	for _, x := range l.lives {
		if x.club == club && (x.Status == scheduler.Done || x.Status == scheduler.Missed || x.Status == scheduler.Unanswered) {
			out = append(out, x)
		}
	}
	slices.SortFunc(out, func(a, b *life) int { return int(a.On - b.On) })
	return out
}

// telling is one weekly mail.
type telling struct {
	on       scheduler.Date
	apiaries []int64 // that are silent
}

func (l *ledger) toldSilence(club, member int64) (out []telling) {
	for _, m := range l.mails {
		if m.club != club || m.member != member || m.kind != scheduler.EscalateMessage || m.state != "sent" {
			continue
		}
		t := telling{on: m.on}
		for _, it := range m.items {
			if it.Because == owed.BecauseSilent {
				t.apiaries = append(t.apiaries, it.ApiaryID)
			}
		}
		out = append(out, t)
	}
	return out
}

// describe prints every mail as its readers see it, and every visit that people
// counted on, for whoever looks into a season.
func (w *town) describe(name string) {
	var out strings.Builder // one write, since other seasons are played at the same time
	fmt.Fprintf(&out, "\n%s\n", name)
	for _, address := range w.addresses() {
		fmt.Fprintln(&out, address)
		for _, m := range w.people[address].letters {
			fmt.Fprintf(&out, "  %s  %s\n", m.on, m.subject)
		}
	}
	for _, uid := range w.ledger.order {
		if x := w.ledger.lives[uid]; x.promised {
			fmt.Fprintf(&out, "  apiary %d, first seen %s: %s (who %v, going %v, cannot %v)\n", x.ApiaryID, x.FirstSeen, strings.Join(x.story, ", "), x.Who, x.took, x.Refused)
		}
	}
	fmt.Print(out.String())
}
