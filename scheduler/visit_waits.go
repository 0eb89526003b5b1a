package scheduler

import "slices"

// applyWaits leaves alone what people have not answered or have put off: boxes
// of an unanswered visit for the days in which somebody may still say what
// became of it, and boxes of a visit that was called off until its day, unless
// the longest wait or a stage falls first.
func (p *projection) applyWaits(s *recorded) {
	p.floor = 0
	clear(p.unanswered)
	last, rounds := s.silence()
	for i := range s.unanswered {
		v := &s.unanswered[i]
		day := int32(v.On - p.days.today)
		// What was done may still be written down: nobody is sent after it.
		p.floor = max(p.floor, day+nearDays+1)
		for _, b := range v.Boxes {
			if p.unanswered == nil {
				p.unanswered = map[int64]bool{}
			}
			p.unanswered[b.BoxID] = true
			p.keepOff(b.BoxID, day+int32(p.rules.AnswerDays))
			// As it will be if nobody says a word: nothing is announced that would
			// then be called off.
			p.putOff(b.BoxID, day+int32(SilentRest(rounds+1, p.rules.Rules)))
		}
	}
	if rounds > 0 {
		until := int32(last.On + SilentRest(rounds, p.rules.Rules) - p.days.today)
		for _, b := range last.Boxes {
			p.putOff(b.BoxID, until)
		}
	}
	for i := range s.calledOff {
		v := &s.calledOff[i]
		for _, b := range v.Boxes {
			p.putOff(b.BoxID, int32(v.OffUntil-p.days.today))
		}
	}
}

// putOff keeps a box off every day before until, or before the day of the hard
// limit that falls first and is still to come.
func (p *projection) putOff(id int64, until int32) {
	for i := range p.start {
		b := &p.start[i]
		if b.box.ID != id {
			continue
		}
		if limit := b.hardLimit(&p.days, &p.rules); limit > 0 && limit < until {
			until = limit
		}
		p.keepOff(id, until-1)
		return
	}
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
	return y.openableBy(int(b.hive), limit, b.tried+1)
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

// SilentRest returns how many days lie between two visits, and two mails, at
// an apiary where so many visits in a row were left without a word: none before
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
