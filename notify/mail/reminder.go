package mail

import (
	"cmp"
	"fmt"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/scheduler/text"
)

// reminder is one reminder being written.
type reminder struct {
	*Input
	say      *text.Speaker
	today    scheduler.Date
	boxes    map[int64]hiveBox // of the boxes at the apiaries that the mail speaks of
	page     page
	subjects []string
	bodies   [][]block          // of each item, below the cautions
	visits   []*scheduler.Visit // those to go to, for the cautions
	list     checklist
	seasons  map[int64]*scheduler.Season // by apiary
}

// hiveBox is a box and the hive that it stands on.
type hiveBox struct {
	hive *scheduler.Hive
	box  *scheduler.Box
}

func newReminder(in *Input) *reminder {
	s := text.In(in.Member.Language, in.Member.Units)
	r := &reminder{
		Input: in, say: s, today: cmp.Or(in.Today, in.Message.On), boxes: map[int64]hiveBox{},
		page:    page{Language: s.Language(), Eyebrow: oneLine(in.Club.Name)},
		list:    checklist{say: s, told: map[string]bool{}},
		seasons: map[int64]*scheduler.Season{},
	}
	for _, it := range in.Message.Items {
		a := r.Club.Apiary(it.ApiaryID)
		if a == nil {
			continue // item says so
		}
		for i := range a.Hives {
			for j := range a.Hives[i].Boxes {
				r.boxes[a.Hives[i].Boxes[j].ID] = hiveBox{&a.Hives[i], &a.Hives[i].Boxes[j]}
			}
		}
	}
	return r
}

// item writes one thing that the member is told.
func (r *reminder) item(it owed.Item) error {
	a := r.Club.Apiary(it.ApiaryID)
	if a == nil {
		return fmt.Errorf("the club has no apiary %d", it.ApiaryID)
	}
	name := oneLine(a.Name)
	if it.Kind == scheduler.EscalateMessage {
		r.unmanned(it, a, name)
		return nil
	}
	if it.VisitUID == "" {
		r.overdue(it, a, name)
		return nil
	}
	v := r.visit(it.VisitUID)
	if v == nil {
		return fmt.Errorf("the club has no visit %q", it.VisitUID)
	}
	var links VisitLinks
	if r.Links.Visit != nil {
		links = r.Links.Visit(v.UID)
	}
	var body []block
	subject := ""
	switch {
	case it.Because == owed.BecauseCancelled:
		subject = r.say.Say("mail.subject.cancelled", name, r.say.ShortDay(it.WasOn))
		body = []block{h(2, subject), say(r.say.Say("mail.item.cancelled"))}
	case it.Because == owed.BecauseDoneBefore:
		subject = r.say.Say("mail.subject.done", name, r.say.ShortDay(it.WasOn))
		body = []block{h(2, subject), say(r.say.Say("mail.item.done"))}
	case it.Because == owed.BecauseUnanswered:
		subject = r.say.Say("mail.subject.ask", name, r.say.ShortDay(v.On))
		body = r.askBlocks(v, links)
		if len(r.Message.Items) > 1 {
			body = append([]block{h(2, subject)}, body...)
		}
	case it.Because == owed.BecauseUnwritten:
		subject = r.say.Say("mail.subject.also", len(it.BoxIDs), name, r.say.ShortDay(v.On))
		body = r.alsoBlocks(v, it.BoxIDs, links)
		if len(r.Message.Items) > 1 {
			body = append([]block{h(2, subject)}, body...)
		}
	default:
		subject = r.subject(it, v, name)
		body = append([]block{h(2, r.headline(it, v, name))}, r.visitBlocks(it, v, a, links)...)
		r.visits = append(r.visits, v)
	}
	r.subjects = append(r.subjects, subject)
	r.bodies = append(r.bodies, body)
	return nil
}

// subject says what an open visit is about in one line.
func (r *reminder) subject(it owed.Item, v *scheduler.Visit, name string) string {
	switch {
	case it.Kind == scheduler.MovedMessage:
		return r.say.Say("mail.subject.moved", name, r.say.ShortDay(v.On))
	case v.On == r.today:
		return r.say.Say("mail.subject.today", r.task(v, name))
	}
	return r.say.Say("mail.subject.coming", r.say.ShortDay(v.On), r.task(v, name))
}

// task names the apiary and how many boxes are opened there.
func (r *reminder) task(v *scheduler.Visit, name string) string {
	if n := len(v.Boxes); n > 0 {
		return r.say.Say("visit.open", n, name)
	}
	return r.say.Say("visit.look", name)
}

// headline says when a visit is.
func (r *reminder) headline(it owed.Item, v *scheduler.Visit, name string) string {
	switch days := int(v.On - r.today); {
	case days == 0:
		return r.say.Say("mail.head.today", name, r.say.Day(v.On))
	case days == 1:
		return r.say.Say("mail.head.tomorrow", name, r.say.Day(v.On))
	default:
		return r.say.Say("mail.head.days", days, name, r.say.Day(v.On))
	}
}

// overdue writes the boxes of an apiary that are past their due day.
func (r *reminder) overdue(it owed.Item, a *scheduler.Apiary, name string) {
	subject := r.say.Say("mail.subject.overdue", len(it.BoxIDs), name)
	body := append([]block{h(2, subject), say(r.say.Say("mail.item.overdue"))}, r.keptBy(a)...)
	body = append(body, r.late(it.BoxIDs)...)
	// Whoever goes because of this mail goes on a visit that is not planned yet.
	next := &scheduler.Visit{ApiaryID: a.ID, On: r.today}
	for _, id := range it.BoxIDs {
		next.Boxes = append(next.Boxes, scheduler.VisitBox{BoxID: id})
	}
	r.visits = append(r.visits, next)
	r.subjects = append(r.subjects, subject)
	r.bodies = append(r.bodies, append(body, r.planButton(a, true)...))
}

// late writes overdue boxes, in the form that the reader wants.
func (r *reminder) late(ids []int64) []block {
	if r.Member.Prefs.LongMail {
		return r.hives(ids, nil, nil)
	}
	return r.lateInShort(ids)
}

// keptBy says who looks after an apiary.
func (r *reminder) keptBy(a *scheduler.Apiary) []block {
	keepers := r.people(a.Keepers)
	if len(keepers) == 0 {
		return nil
	}
	return []block{{Facts: []fact{{r.say.Say("mail.label.keepers"), r.say.List(keepers)}}}}
}

// planButton leads to the page on which a visit to an apiary is planned.
func (r *reminder) planButton(a *scheduler.Apiary, main bool) []block {
	if r.Links.Apiary == nil || r.Links.Apiary(a.ID) == "" {
		return nil
	}
	return []block{buttons(button{r.say.Say("button.plan"), r.Links.Apiary(a.ID), main})}
}

// finish puts the page together: two cautions on top, the items, the full
// list of cautions, and how to change or stop the mail.
func (r *reminder) finish() (*Mail, error) {
	subject := r.subjects[0]
	if weekly := r.weeklySubject(); weekly != "" {
		subject = weekly
	} else if n := len(r.subjects) - 1; n > 0 {
		subject = r.say.Say("mail.subject.more", n, subject)
	}
	r.page.Title = subject
	if len(r.subjects) > 1 {
		r.page.add(block{List: r.subjects})
	}
	if slices.ContainsFunc(r.Message.Items, func(it owed.Item) bool { return it.Because == owed.BecauseNoTime }) {
		r.page.add(block{List: r.tooMuch()})
	}
	top, all := r.cautions()
	for _, c := range top {
		r.page.add(warn(c))
	}
	for _, b := range r.bodies {
		r.page.add(b...)
	}
	if r.Attached {
		r.page.add(h(2, r.say.Say("mail.head.calendar")), say(r.say.Say("mail.calendar-attached")))
		if r.Links.Calendars != "" {
			r.page.add(buttons(link(r.say.Say("button.calendars"), r.Links.Calendars)))
		}
	}
	if r.Invited {
		r.page.add(h(2, r.say.Say("mail.head.calendar")), say(r.say.Say("mail.calendar-invited")))
	}
	if len(r.list.steps) > 0 {
		r.page.add(h(2, r.say.Say("mail.head.checklist")), block{List: r.list.steps})
	}
	switch {
	case len(r.visits) == 0:
	case r.Member.Prefs.LongMail:
		r.page.add(h(2, r.say.Say("caution.every-visit")), block{List: all})
	default:
		r.page.add(fine(r.say.Say("mail.short.cautions")))
	}
	r.page.Footer = append(r.page.Footer, fine(r.say.Say("mail.footer.why", oneLine(r.Club.Name))))
	var links []button
	if r.Links.Preferences != "" {
		links = append(links, link(r.say.Say("mail.footer.preferences"), r.Links.Preferences))
	}
	if r.Links.Unsubscribe != "" {
		links = append(links, link(r.say.Say("mail.footer.unsubscribe"), r.Links.Unsubscribe))
	}
	if len(links) > 0 {
		r.page.Footer = append(r.page.Footer, buttons(links...))
	}
	return r.page.mail(subject)
}

// visit finds a visit as planned, or as recorded when it is history.
func (r *reminder) visit(uid string) *scheduler.Visit {
	if r.Plan != nil {
		for i := range r.Plan.Visits {
			if r.Plan.Visits[i].UID == uid {
				return &r.Plan.Visits[i]
			}
		}
	}
	for i := range r.Club.Visits {
		if r.Club.Visits[i].UID == uid {
			return &r.Club.Visits[i]
		}
	}
	return nil
}

// reached names members of a visit, with their numbers where the reader may have them.
func (r *reminder) reached(v *scheduler.Visit, ids ...int64) []string {
	var out []string
	for _, id := range ids {
		for _, name := range r.people([]int64{id}) {
			if number := oneLine(r.Club.PhoneFor(r.Member.ID, id, v)); number != "" {
				name = r.say.Say("mail.going.phone", name, number)
			}
			out = append(out, name)
		}
	}
	return out
}

// people returns the names of members.
func (r *reminder) people(ids []int64) []string {
	var out []string
	for _, id := range ids {
		if m := r.Club.Member(id); m != nil && oneLine(m.Name) != "" {
			out = append(out, oneLine(m.Name))
		}
	}
	return out
}
