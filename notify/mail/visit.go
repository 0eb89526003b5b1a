package mail

import (
	"fmt"
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/owed"
)

// fewBoxes are seen at a glance, without a list of them on top.
const fewBoxes = 4

// work is the checklist of one visit, whole and as short steps.
type work struct {
	items []advice.ChecklistItem
	steps stepsOf
}

// visitBlocks writes one visit to come: who goes, the weather to go in, what
// to bring, what to leave alone, the boxes and the buttons.
func (r *reminder) visitBlocks(it owed.Item, v *scheduler.Visit, a *scheduler.Apiary, links VisitLinks) []block {
	var out []block
	switch {
	case it.Because == owed.BecauseMoved:
		out = append(out, say(r.say.Say("mail.item.moved", r.say.Day(it.WasOn), r.say.Day(v.On))))
	case it.Because == owed.BecauseCaughtUp:
		out = append(out, fine(r.say.Say("mail.item.late")))
	}
	if v.Status == scheduler.Tentative {
		out = append(out, say(r.say.Say("mail.item.tentative")))
	}
	facts := []fact{
		{r.say.Say("visit.going"), r.going(v)},
		{r.say.Say("weather.label"), r.say.Tell(advice.WeatherText(v))},
		{r.say.Say("mail.label.bring"), r.bring(v)},
	}
	if short := !r.Member.Prefs.LongMail; len(v.Boxes) > 0 && (short || len(v.Boxes) > fewBoxes) {
		facts = append(facts, fact{r.say.Say("mail.label.boxes"), r.overview(v.Boxes)})
	}
	for _, s := range r.leaveAlone(a, v.On) {
		facts = append(facts, fact{r.say.Say("mail.label.leave"), s})
	}
	items := advice.Checklist(r.Club, v, r.stage(v))
	out = append(out, block{Facts: facts})
	if !r.Member.Prefs.LongMail {
		return append(append(out, r.special(v, items)...), r.buttons(v, links)...)
	}
	steps := r.list.of(items)
	out = append(out, r.buttons(v, links)...) // above the boxes, of which there may be many
	out = append(out, block{Ticks: steps.apiary})
	ids := make([]int64, len(v.Boxes))
	for i, b := range v.Boxes {
		ids[i] = b.BoxID
	}
	return append(out, r.hives(ids, v.Boxes, &work{items, steps})...)
}

// overview names boxes in one line, hive by hive.
func (r *reminder) overview(boxes []scheduler.VisitBox) string {
	var s strings.Builder
	var last *scheduler.Hive
	for _, b := range boxes {
		at, ok := r.boxes[b.BoxID]
		switch {
		case !ok:
			continue
		case at.hive == last:
			s.WriteString(", ")
		case last != nil:
			s.WriteString("; ")
			fallthrough
		default:
			last = at.hive
			s.WriteString(r.say.Hive(oneLine(last.Name)) + ": ")
		}
		s.WriteString(oneLine(at.box.Name))
	}
	return s.String()
}

// going says who goes with whom, as seen by the reader.
func (r *reminder) going(v *scheduler.Visit) string {
	var others []string
	mine := v.IsTakenBy(r.Member.ID)
	for _, id := range v.Taken {
		if id != r.Member.ID {
			others = append(others, r.reached(v, id)...)
		}
	}
	switch {
	case len(v.Who) == 0:
		return r.say.Say("mail.going.nobody")
	case !v.IsTaken():
		return r.say.Say("mail.going.expected", r.say.List(r.reached(v, v.Who...)))
	case mine && len(others) == 0:
		return r.say.Say("mail.going.you")
	case mine:
		return r.say.Say("mail.going.with", r.say.List(others))
	}
	return r.say.List(others)
}

// leaveAlone lists the hives to leave alone on a day, until when and why.
func (r *reminder) leaveAlone(a *scheduler.Apiary, on scheduler.Date) []string {
	var out []string
	for i := range a.Hives {
		h := &a.Hives[i]
		for _, p := range h.LeaveAlone {
			if !p.Contains(on) {
				continue
			}
			until := r.say.Say("leave.open")
			if p.Until != 0 {
				until = r.say.Say("period.until", r.say.ShortDay(p.Until))
			}
			s := r.say.Say("leave.hive", oneLine(h.Name), until)
			if why := oneLine(r.say.Tell(p.Why())); why != "" {
				s = fmt.Sprintf("%s (%s)", s, why)
			}
			out = append(out, s)
		}
	}
	return out
}

// buttons writes what the reader can do about a visit: say that they go, where
// they have not, and that they cannot, where they are expected.
func (r *reminder) buttons(v *scheduler.Visit, l VisitLinks) []block {
	take, cant := l.Take, l.CantGo
	if v.IsTakenBy(r.Member.ID) {
		take = ""
	}
	if !slices.Contains(v.Who, r.Member.ID) {
		cant = ""
	}
	return r.answers([]answer{
		{"button.take", take, true},
		{"button.record", l.Record, take == ""},
		{"button.already", l.AlreadyOpened, false},
		{"button.rained", l.RainedOff, false},
		{"button.cant", cant, false},
		{"button.page", l.Page, false},
	})
}

// answer is one thing that a reader can do, by the key of its words.
type answer struct {
	key, url string
	main     bool
}

// answers writes those that have an address.
func (r *reminder) answers(list []answer) []block {
	var out []button
	for _, a := range list {
		if a.url != "" {
			out = append(out, button{r.say.Say(a.key), a.url, a.main})
		}
	}
	if len(out) == 0 {
		return nil
	}
	return []block{buttons(out...)}
}
