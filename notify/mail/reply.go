package mail

import (
	"fmt"
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/owed"
)

// Reply is what a member wrote back, passed on to an organiser.
type Reply struct {
	Input   // for the organiser; its items name the visits that were written about, if any
	Writer  *scheduler.Member
	From    string // the address that it came from
	Subject string
	Text    string
	LeftOut []string // attached files that are not passed on
}

// ComposeReply renders it.
func ComposeReply(in Reply) (*Mail, error) {
	r := newReminder(&in.Input)
	who := oneLine(in.Writer.Name)
	other := !strings.EqualFold(in.From, in.Writer.Email)
	if other && in.From != "" {
		who = oneLine(in.From)
	}
	r.page.Title = r.say.Say("mail.reply.title", who)
	var visits []fact
	main := ""
	for _, it := range in.Message.Items {
		name, v, err := r.written(it)
		if err != nil {
			return nil, fmt.Errorf("pass on what member %d wrote: %w", in.Writer.ID, err)
		}
		if v == nil {
			continue
		}
		visits = append(visits, fact{r.say.Say("mail.label.visit"), r.say.Say("mail.answer.visit", name, r.say.Day(v.On))})
		if v.Status.Open() {
			visits = append(visits, fact{r.say.Say("visit.going"), r.going(v)})
		}
		if main == "" {
			r.page.Title = r.say.Say("mail.reply.title-visit", who, name, r.say.ShortDay(v.On))
			main = r.pageOf(v)
		}
	}
	r.page.add(say(r.say.Say("mail.reply.intro", who)))
	if other {
		r.page.add(warn(r.say.Say("mail.reply.other", oneLine(in.From), oneLine(in.Writer.Name))))
	}
	if in.Subject != "" {
		visits = append(visits, fact{r.say.Say("mail.label.subject"), oneLine(in.Subject)})
	}
	if len(visits) > 0 {
		r.page.add(block{Facts: visits})
	}
	r.page.add(block{Letter: letterLines(in.Text, r.say.Say("mail.reply.empty"))})
	if len(in.LeftOut) > 0 {
		r.page.add(fine(r.say.Say("mail.reply.left-out", r.say.List(cleanNames(in.LeftOut)), who)))
	}
	if main != "" {
		r.page.add(buttons(link(r.say.Say("button.page"), main)))
	}
	r.page.add(fine(r.say.Say("mail.reply.how", who)))
	r.page.Footer = append(r.page.Footer, fine(r.say.Say("mail.reply.why", oneLine(in.Club.Name))))
	return r.page.mail(r.page.Title)
}

// Answer tells a member who answered by mail or by calendar what is true now.
type Answer struct{ Input }

// answerTexts say what is noted, or why nothing is.
var answerTexts = map[string]string{
	owed.AnswerGoing:      "mail.answer.going",
	owed.AnswerNotGoing:   "mail.answer.not-going",
	owed.AnswerStranger:   "mail.answer.stranger",
	owed.AnswerMoved:      "mail.answer.moved",
	owed.AnswerOver:       "mail.answer.over",
	owed.AnswerCancelled:  "mail.answer.cancelled",
	owed.AnswerDone:       "mail.item.done",
	owed.AnswerUnknown:    "mail.answer.unknown",
	owed.AnswerRepeating:  "mail.answer.repeating",
	owed.AnswerMaybe:      "mail.answer.maybe",
	owed.AnswerUnclear:    "mail.answer.unclear",
	owed.AnswerAnotherDay: "mail.answer.another-day",
}

// ComposeAnswer renders it.
func ComposeAnswer(in Answer) (*Mail, error) {
	if len(in.Message.Items) != 1 {
		return nil, fmt.Errorf("compose %s: %d items, one is wanted", in.Message.Key, len(in.Message.Items))
	}
	it := in.Message.Items[0]
	text, ok := answerTexts[it.Because]
	if !ok {
		return nil, fmt.Errorf("compose %s: no text says %q", in.Message.Key, it.Because)
	}
	r := newReminder(&in.Input)
	name, v, err := r.written(it)
	if err != nil {
		return nil, fmt.Errorf("compose %s: %w", in.Message.Key, err)
	}
	switch {
	case v == nil:
		r.page.Title = r.say.Say("mail.answer.title")
	case it.Because == owed.AnswerGoing:
		r.page.Title = r.say.Say("mail.answer.title-going", name, r.say.ShortDay(v.On))
	case it.Because == owed.AnswerNotGoing:
		r.page.Title = r.say.Say("mail.answer.title-not-going", name, r.say.ShortDay(v.On))
	default:
		r.page.Title = r.say.Say("mail.answer.title-visit", name)
	}
	r.page.add(say(r.say.Say(text)))
	if v != nil {
		facts := []fact{{r.say.Say("mail.label.visit"), r.say.Say("mail.answer.visit", name, r.say.Day(v.On))}}
		if v.Status.Open() {
			facts = append(facts, fact{r.say.Say("visit.going"), r.going(v)})
		}
		r.page.add(block{Facts: facts})
		r.page.add(r.again(v)...)
	}
	r.page.Footer = append(r.page.Footer, fine(r.say.Say("mail.footer.why", oneLine(in.Club.Name))))
	return r.page.mail(r.page.Title)
}

// written finds the visit of an item and the name of its apiary; no visit for
// an item about none.
func (r *reminder) written(it owed.Item) (name string, v *scheduler.Visit, err error) {
	if it.VisitUID == "" {
		return "", nil, nil
	}
	a := r.Club.Apiary(it.ApiaryID)
	if a == nil {
		return "", nil, fmt.Errorf("the club has no apiary %d", it.ApiaryID)
	}
	if v = r.visit(it.VisitUID); v == nil {
		return "", nil, fmt.Errorf("the club has no visit %q", it.VisitUID)
	}
	return oneLine(a.Name), v, nil
}

// again are the ways to answer once more, and the visit's page.
func (r *reminder) again(v *scheduler.Visit) []block {
	if r.Links.Visit == nil {
		return nil
	}
	l := r.Links.Visit(v.UID)
	if !v.Status.Open() || v.IsTakenBy(r.Member.ID) {
		l.Take = ""
	}
	if !v.Status.Open() || !slices.Contains(v.Who, r.Member.ID) {
		l.CantGo = ""
	}
	return r.answers([]answer{{"button.take", l.Take, true}, {"button.cant", l.CantGo, l.Take == ""}, {"button.page", l.Page, l.Take == "" && l.CantGo == ""}})
}

func (r *reminder) pageOf(v *scheduler.Visit) string {
	if r.Links.Visit == nil {
		return ""
	}
	return r.Links.Visit(v.UID).SignedInPage
}

// letterLines are a person's words as they were written.
func letterLines(text, empty string) []string {
	var lines []string
	for line := range strings.SplitSeq(strings.TrimSpace(text), "\n") {
		lines = append(lines, oneLine(line))
	}
	if len(lines) == 1 && lines[0] == "" {
		return []string{empty}
	}
	return lines
}

func cleanNames(names []string) []string {
	out := make([]string, len(names))
	for i, name := range names {
		out[i] = oneLine(name)
	}
	return out
}
