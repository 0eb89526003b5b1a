package scheduler

import "slices"

// applyWaits leaves alone what people have not answered or have put off: boxes
// of an unanswered visit for the days in which somebody may still say what
// became of it, and then for the move notice, since nobody is told of their
// next visit before; and boxes of a visit that was called off until its day,
// unless the longest wait or a stage falls first. A box that was left shut gets
// time to find a second person and tools.
func (p *projection) applyWaits(s *recorded) {
	p.floor, p.joins = int32(p.rules.LeadDays), 0
	clear(p.unanswered)
	last, rounds := s.silence()
	for i := range s.unanswered {
		v := &s.unanswered[i]
		day := int32(v.On - p.days.today)
		// What was done may still be written down: nobody is sent after it.
		p.joins = max(p.joins, day+nearDays+1)
		p.floor = max(p.floor, p.joins)
		for _, b := range v.Boxes {
			if p.unanswered == nil {
				p.unanswered = map[int64]bool{}
			}
			p.unanswered[b.BoxID] = true
			p.keepOff(b.BoxID, day+int32(p.rules.AnswerDays+p.rules.LeadDays)) // none is confirmed sooner, whatever limit falls
			p.putOff(b.BoxID, day+p.givenUp())
		}
		// As it will be if nobody says a word: nothing is announced that would then
		// be called off.
		p.rest(s.open, day, rounds+1)
	}
	if rounds > 0 {
		p.rest(s.open, int32(last.On-p.days.today), rounds)
	}
	for _, v := range s.history {
		day := int32(v.On - p.days.today)
		for _, b := range v.Boxes {
			switch {
			case v.Status == Done && day >= -nearDays && !has(v.NotOpened, b.BoxID): // those not written down yet may have been opened too
				p.keepOff(b.BoxID, day+nearDays)
			case v.Status == Missed && day < -int32(p.rules.AnswerDays): // where it is so sooner, nobody was asked
				p.putOff(b.BoxID, day+p.givenUp())
			}
		}
	}
	for _, v := range s.history {
		if v.Status == Done && int32(v.On-p.days.today) > -p.givenUp() {
			p.waitForWord(v)
		}
	}
	for i := range p.start {
		if b := &p.start[i]; b.rate.ShutOn != 0 {
			p.putOff(b.box.ID, int32(b.rate.ShutOn-p.days.today)+int32(p.rules.MoveNotice))
		}
	}
	for i := range s.calledOff {
		v := &s.calledOff[i]
		for _, b := range v.Boxes {
			p.putOff(b.BoxID, int32(v.OffUntil-p.days.today))
		}
	}
}

// givenUp returns how many days after its day a visit about which nobody says
// a word may be followed by another of its boxes: it is given up, and whoever
// goes on the next one hears of it in time.
func (p *projection) givenUp() int32 { return int32(p.rules.AnswerDays+1) + p.rules.soonest() }

// soonest returns how many days ahead whoever goes hears of a visit, new or
// moved, at least.
func (r *Rules) soonest() int32 { return int32(max(r.LeadDays, r.MoveNotice)) }

// rest keeps the boxes of an apiary where nobody answers off the days after so
// many visits in a row, the last of them on a day: on the morning after it people
// were asked, its mails then rest, and whoever goes next hears of it in time. It
// keeps none off the day of a visit that people count on.
func (p *projection) rest(open []Visit, last int32, rounds int) {
	mails := int32(SilentRest(rounds, p.rules.Rules))
	if mails == 0 {
		return
	}
	until := last + 1 + mails + p.rules.soonest()
	counted := map[int64]int32{}
	for i := range open {
		if v := &open[i]; v.Status == Confirmed {
			for _, b := range v.Boxes { // the first of several
				if _, ok := counted[b.BoxID]; !ok {
					counted[b.BoxID] = int32(v.On - p.days.today)
				}
			}
		}
	}
	for i := range p.start {
		until := p.days.usualFrom(int(p.start[i].hive), until)
		if day, ok := counted[p.start[i].box.ID]; ok {
			until = min(until, day)
		}
		p.keepUntil(&p.start[i], until)
	}
}

// putOff keeps a box off every day before until, and from there on until the
// keepers' next weekday, where they have one within a week.
func (p *projection) putOff(id int64, until int32) {
	for i := range p.start {
		if b := &p.start[i]; b.box.ID == id {
			p.keepUntil(b, p.days.usualFrom(int(b.hive), until))
			return
		}
	}
}

// keepUntil keeps a box off every day before until, or before the day of the
// hard limit that falls first, can be kept and is still to come.
func (p *projection) keepUntil(b *boxDue, until int32) {
	if limit := b.hardLimit(&p.days, &p.rules); limit > max(b.off, 0) && limit < until {
		until = limit
	}
	p.keepOff(b.box.ID, until-1)
}

// hardLimit returns the day on which the longest wait or a stage that asks for
// an opening ends for b, whoever wants what. One that has passed binds nobody
// any more, and the other does.
func (b *boxDue) hardLimit(y *days, r *dueRules) int32 {
	limit, _ := y.requiredOpening(b.from)
	if limit <= 0 {
		limit = noDay
	}
	if longest := int32(b.from-y.today) + int32(r.MaxDays); longest > 0 {
		limit = min(limit, longest)
	}
	return y.openableBy(int(b.hive), limit, int32(b.from-y.today)+1)
}

// silence returns the last visit of the apiary that came to nothing without a
// word from anybody, and how many in a row did.
func (s *recorded) silence() (last *Visit, rounds int) {
	slices.SortFunc(s.history, func(a, b *Visit) int { return int(b.On - a.On) })
	for _, v := range s.history {
		if v.Status == Missed && v.NoTime && len(v.Who) == 0 {
			continue // nobody was asked, who could have answered
		}
		if v.Status != Missed || len(v.Taken)+len(v.Refused) > 0 {
			break
		}
		rounds++
		if last == nil {
			last = v
		}
	}
	return last, rounds
}

// SilentRest returns how many days lie at least between two mails about an
// apiary where so many visits in a row were left without a word: none before
// the rules' QuietAfter, then two weeks, then four.
func SilentRest(rounds int, r *Rules) Date {
	switch {
	case rounds < r.Reminders.QuietAfter:
		return 0
	case rounds == r.Reminders.QuietAfter:
		return 14
	default:
		return 28
	}
}
