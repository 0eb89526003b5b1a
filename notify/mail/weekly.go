package mail

import (
	"pryday/scheduler"
	"pryday/scheduler/owed"
)

// unmanned writes, in the organisers' weekly mail, an apiary where nobody
// answers or whose boxes are long past their day with nobody going.
func (r *reminder) unmanned(it owed.Item, a *scheduler.Apiary, name string) {
	subject, words := r.say.Say("mail.subject.escalated", len(it.BoxIDs), name), r.say.Say("mail.item.escalated")
	if it.Because == owed.BecauseSilent {
		subject, words = r.say.Say("mail.subject.silent-one", name), r.say.Say("mail.item.silent", it.Rounds)
	}
	body := append([]block{h(2, subject), say(words)}, r.keptBy(a)...)
	body = append(body, r.late(it.BoxIDs)...)
	r.subjects = append(r.subjects, subject)
	r.bodies = append(r.bodies, append(body, r.planButton(a)...))
}

// weeklySubject says what the organisers' weekly mail is about: it never hides
// behind another subject. Empty for every other mail.
func (r *reminder) weeklySubject() string {
	silent, boxes, places := 0, 0, 0
	for _, it := range r.Message.Items {
		switch {
		case it.Kind != scheduler.EscalateMessage:
			return ""
		case it.Because == owed.BecauseSilent:
			silent++
		default:
			boxes, places = boxes+len(it.BoxIDs), places+1
		}
	}
	switch {
	case silent > 0 && len(r.subjects) > 1:
		return r.say.Say("mail.subject.silent", silent)
	case places > 1:
		return r.say.Say("mail.subject.escalated-places", boxes, places)
	}
	return r.subjects[0]
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
