package web

import (
	"cmp"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// visitSign is how a calendar marks what a visit is, in the order in which
// visits of a day stand. No two look alike without their colours.
type visitSign struct {
	Class string
	Sign  string
	count string // key of the text that counts them
}

var (
	signNobody     = visitSign{"nobody", "!", "page.calendar.count.nobody"}
	signExpected   = visitSign{"expected", "○", "page.calendar.count.expected"}
	signGoing      = visitSign{"going", "●", "page.calendar.count.going"}
	signUnanswered = visitSign{"unanswered", "?", "page.calendar.count.unanswered"}
	signDone       = visitSign{"done", "✓", "page.calendar.count.done"}
	signMissed     = visitSign{"missed", "✗", "page.calendar.count.missed"}
	signCancelled  = visitSign{"cancelled", "–", "page.calendar.count.cancelled"}
)

var visitSigns = []visitSign{signNobody, signExpected, signGoing, signUnanswered, signDone, signMissed, signCancelled}

func signOf(v *scheduler.Visit) visitSign {
	switch v.Status {
	case scheduler.Unanswered:
		return signUnanswered
	case scheduler.Done:
		return signDone
	case scheduler.Missed:
		return signMissed
	case scheduler.Cancelled:
		return signCancelled
	}
	switch {
	case len(v.Who) == 0:
		return signNobody
	case v.IsTaken():
		return signGoing
	}
	return signExpected
}

// calendarEntry is one visit in a calendar.
type calendarEntry struct {
	visitSign
	Path   string
	Apiary string
	Says   string // what is to know of it, in short
	Mine   bool
	May    bool // the day may still move
}

func (rec *calendarRecords) entry(v *scheduler.Visit) calendarEntry {
	return calendarEntry{
		visitSign: signOf(v), Path: visitPath(v.UID), Apiary: rec.names.Apiary(v.ApiaryID), Says: rec.entrySays(v),
		Mine: slices.Contains(v.Who, rec.who.MemberID), May: v.Status == scheduler.Tentative,
	}
}

// entrySays says in short who goes, or what became of it.
func (rec *calendarRecords) entrySays(v *scheduler.Visit) string {
	switch v.Status {
	case scheduler.Done:
		if len(v.Who) > 0 {
			return rec.say.Say("page.calendar.done-by", rec.inShort(v.Who))
		}
		return rec.say.Word(v.Status)
	case scheduler.Missed, scheduler.Cancelled:
		return rec.say.Word(v.Status)
	case scheduler.Unanswered:
		return rec.say.Say("page.calendar.no-word")
	}
	says := ""
	switch {
	case v.LacksPeople(rec.today):
		says = rec.say.Say("page.calendar.no-time")
	case len(v.Who) == 0:
		says = rec.say.Say("page.calendar.nobody")
	case v.IsTaken():
		says = rec.inShort(v.Taken)
	default:
		says = rec.say.Say("page.calendar.expected", rec.inShort(v.Who))
	}
	if v.Status == scheduler.Tentative {
		says += " · " + rec.say.Say("page.year.may-move")
	}
	return says
}

// inShort names people, whoever looks first.
func (rec *calendarRecords) inShort(ids []int64) string {
	var names []string
	for _, id := range ids {
		switch name := rec.names.Member(id); {
		case id == rec.who.MemberID:
			names = slices.Insert(names, 0, rec.say.Say("page.members.tag-you"))
		case name != "":
			names = append(names, name)
		}
	}
	if more := len(names) - 2; more > 0 {
		return rec.say.Say("page.calendar.and-more", more, names[0], names[1])
	}
	return rec.say.List(names)
}

// byUrgency orders the visits of a day: what nobody goes to first.
func byUrgency(a, b *store.CalendarVisit) int {
	place := func(v *store.CalendarVisit) int { return slices.Index(visitSigns, signOf(&v.Visit)) }
	return cmp.Compare(place(a), place(b))
}

// signCount says how many visits have a sign, which explains the sign as well.
type signCount struct {
	visitSign
	Text text.Text
}

func countSigns(shown []*store.CalendarVisit) (out []signCount) {
	n := map[visitSign]int{}
	for _, v := range shown {
		n[signOf(&v.Visit)]++
	}
	for _, sign := range visitSigns {
		if n[sign] > 0 {
			out = append(out, signCount{sign, text.New(sign.count, n[sign])})
		}
	}
	return out
}

func anyMayMove(shown []*store.CalendarVisit) bool {
	return slices.ContainsFunc(shown, func(v *store.CalendarVisit) bool { return v.Status == scheduler.Tentative })
}
