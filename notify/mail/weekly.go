package mail

import (
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/scheduler/text"
)

// unmanned writes, in the organisers' weekly mail, an apiary where nobody
// answers, whose boxes are long past their day with nobody going, or for whose
// visits nobody has time.
func (r *reminder) unmanned(it owed.Item, a *scheduler.Apiary, name string) {
	if it.Because == owed.BecauseNoTime {
		r.withoutTime(a, name)
		return
	}
	subject, words := r.say.Say("mail.subject.escalated", len(it.BoxIDs), name), r.say.Say("mail.item.escalated")
	opens := it.BoxIDs
	if it.Because == owed.BecauseSilent {
		opens = nil // whatever is next
		subject, words = r.say.Say("mail.subject.silent-one", name), r.say.Say("mail.item.silent", it.Rounds)
	}
	body := append([]block{h(2, subject), say(words)}, r.keptBy(a)...)
	body = append(body, r.late(it.BoxIDs)...)
	next := r.nextTo(a.ID, opens)
	body = append(body, r.planned(next)...)
	r.subjects = append(r.subjects, subject)
	r.bodies = append(r.bodies, append(body, r.planButton(a, next == nil)...))
}

// nextTo returns the next visit to an apiary that opens one of some boxes, of none the
// next of all; nil where none is planned.
func (r *reminder) nextTo(apiary int64, boxes []int64) (next *scheduler.Visit) {
	if r.Plan == nil {
		return nil
	}
	for i := range r.Plan.Visits {
		v := &r.Plan.Visits[i]
		opens := len(boxes) == 0 || slices.ContainsFunc(boxes, v.Lists)
		if v.ApiaryID == apiary && v.Status.Open() && v.On >= r.today && opens && (next == nil || v.On < next.On) {
			next = v
		}
	}
	return next
}

// planned says what is planned, and leads to it.
func (r *reminder) planned(v *scheduler.Visit) []block {
	says := func(what string) block { return block{Facts: []fact{{r.say.Say("mail.label.planned"), what}}} }
	if v == nil {
		return []block{says(r.say.Say("mail.item.planned-none"))}
	}
	hours := text.Hours(scheduler.ExpectedHours(r.Club, v))
	body := []block{says(r.say.Say("mail.item.planned", len(v.Boxes), r.say.Day(v.On), hours))}
	if r.Links.Visit == nil {
		return body
	}
	l := r.Links.Visit(v.UID)
	return append(body, r.answers([]answer{{"button.take", l.Take, true}, {"button.page", l.Page, false}})...)
}

// withoutTime writes an apiary for whose visits nobody has time.
func (r *reminder) withoutTime(a *scheduler.Apiary, name string) {
	visits := r.lacking(a.ID)
	subject := r.say.Say("mail.subject.no-time", len(visits), name)
	body := append([]block{h(2, subject), say(r.say.Say("mail.item.no-time"))}, r.keptBy(a)...)
	var days []string
	for i := range visits {
		days = append(days, r.say.Say("mail.item.no-time-visit", len(visits[i].Boxes), r.say.Day(visits[i].On)))
	}
	r.subjects = append(r.subjects, subject)
	r.bodies = append(r.bodies, append(append(body, block{List: days}), r.planButton(a, true)...))
}

// lacking returns the visits for which nobody has time; of every apiary for 0.
func (r *reminder) lacking(apiary int64) []scheduler.Visit {
	var out []scheduler.Visit
	if r.Plan == nil {
		return nil
	}
	for _, v := range r.Plan.Visits {
		if (apiary == 0 || v.ApiaryID == apiary) && v.LacksPeople(r.today) && v.On <= r.today+scheduler.OverloadDays {
			out = append(out, v)
		}
	}
	return out
}

// tooMuch says what is too much for people, in a line for each third of a month.
func (r *reminder) tooMuch() []string {
	var lacking []scheduler.Lacking
	for _, v := range r.lacking(0) {
		lacking = append(lacking, scheduler.Lacking{ApiaryID: v.ApiaryID, On: v.On, Work: v.Expected()})
	}
	var out []string
	for _, o := range scheduler.Overloads(r.Club, lacking, r.today) {
		out = append(out, r.say.Tell(o.Text()))
	}
	return out
}

// weeklySubject says what the organisers' weekly mail is about: it never hides
// behind another subject. Empty for every other mail.
func (r *reminder) weeklySubject() string {
	silent, boxes, places, lacking := 0, 0, 0, 0
	for _, it := range r.Message.Items {
		switch {
		case it.Kind != scheduler.EscalateMessage:
			return ""
		case it.Because == owed.BecauseSilent:
			silent++
		case it.Because == owed.BecauseNoTime:
			lacking++
		default:
			boxes, places = boxes+len(it.BoxIDs), places+1
		}
	}
	subject := r.subjects[0]
	switch {
	case silent > 0 && silent+places > 1:
		subject = r.say.Say("mail.subject.silent", silent)
	case places > 1:
		subject = r.say.Say("mail.subject.escalated-places", boxes, places)
	}
	if much := r.tooMuch(); lacking > 0 && len(much) > 0 {
		if silent+places == 0 {
			return much[0]
		}
		return r.say.Say("mail.subject.and", subject, much[0])
	}
	return subject
}

// askBlocks asks what became of a visit whose day is over, with one answer to
// tap each.
func (r *reminder) askBlocks(v *scheduler.Visit, l VisitLinks) []block {
	body := []block{say(r.say.Say("mail.item.ask", r.say.Day(v.On)))}
	opened := "button.all-opened"
	if len(v.Boxes) == 0 {
		opened = "button.were-there"
	}
	answers := r.answers([]answer{
		{opened, l.AlreadyOpened, true},
		{"button.some-hard", l.Record, false},
		{"button.not-yet", l.RainedOff, false},
		{"button.cant", l.CantGo, false},
		{"button.page", l.Page, false},
	})
	ids := make([]int64, len(v.Boxes))
	for i, b := range v.Boxes {
		ids[i] = b.BoxID
	}
	if len(ids) > 0 {
		body = append(body, block{Facts: []fact{{r.say.Say("mail.label.boxes"), r.overview(v.Boxes)}}})
	}
	return append(body, answers...)
}

// alsoBlocks asks whether boxes of a done visit without a word were opened too.
func (r *reminder) alsoBlocks(v *scheduler.Visit, ids []int64, l VisitLinks) []block {
	var boxes []scheduler.VisitBox
	for _, id := range ids {
		boxes = append(boxes, scheduler.VisitBox{BoxID: id})
	}
	body := []block{say(r.say.Say("mail.item.also", r.say.Day(v.On))), {Facts: []fact{{r.say.Say("mail.label.unwritten"), r.overview(boxes)}}}}
	return append(body, r.answers([]answer{
		{"button.also-opened", l.AlsoOpened, true},
		{"button.not-opened", l.NotOpened, false},
		{"button.say-how-hard", l.Record, false},
	})...)
}
