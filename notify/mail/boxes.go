package mail

import (
	"strconv"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
)

// maxBoxesTold bounds the boxes written out for one visit; readers cut
// mails that grow beyond about 100 KB.
const maxBoxesTold = 40

// hives writes boxes hive by hive, in the order given: the order of the
// hands. With opened, each says why it is opened on the visit and has its
// steps to tick; without, since when it is overdue.
func (r *reminder) hives(ids []int64, opened []scheduler.VisitBox, todo *work) []block {
	var out []block
	finish := func(h *scheduler.Hive) {
		if todo != nil && h != nil {
			out = append(out, block{Ticks: todo.steps.after[h.ID]})
		}
	}
	var last *scheduler.Hive
	order := 0
	for i, id := range ids {
		if i == maxBoxesTold {
			finish(last)
			return append(out, fine(r.say.Say("mail.boxes-more", len(ids)-i)))
		}
		at, ok := r.boxes[id]
		if !ok {
			continue // it has left the apiary meanwhile
		}
		if at.hive != last {
			finish(last)
			last, order = at.hive, 0
			out = append(out, h(3, r.say.Say("mail.head.hive", oneLine(at.hive.Name))))
			if todo != nil {
				out = append(out, block{Ticks: todo.steps.before[last.ID]})
			}
			out = append(out, block{})
		}
		order++
		x := boxLines{Mark: r.mark(at.box)}
		if opened != nil {
			x.Order = strconv.Itoa(order)
			x.Why = r.say.Tell(opened[i].Why(r.today, true))
		} else {
			x.Why = r.since(id)
		}
		x.Lines = r.lastTime(at.box)
		if todo != nil {
			x.Lines = append(x.Lines, r.ownSteps(todo.items, id)...)
			x.Ticks = todo.steps.box[id]
		}
		card := &out[len(out)-1]
		card.Boxes = append(card.Boxes, x)
	}
	finish(last)
	return out
}

// mark names a box by its painted mark and its kind.
func (r *reminder) mark(b *scheduler.Box) string {
	name := oneLine(b.Name)
	if kind := oneLine(b.Kind); kind != "" {
		return name + " (" + r.say.Kind(kind) + ")"
	}
	return name
}

// since says since when a box is overdue.
func (r *reminder) since(id int64) string {
	if s := r.state(id); s != nil && s.Due != 0 {
		return r.say.Say("box.overdue", int(r.today-s.Due), text.Full(s.Due), text.Chance(s.Odds))
	}
	return r.say.Say("box.overdue-plain")
}

// lastTime says how hard a box was last time and what its gaps were.
func (r *reminder) lastTime(b *scheduler.Box) []string {
	last, ok := b.LastOpening(scheduler.MaxDate)
	if !ok {
		return []string{r.say.Tell(b.NeverOpened())}
	}
	how := r.say.Tell(last.HowHard())
	if last.LeftShut {
		how = r.say.Say("box.last-shut")
	}
	out := []string{r.say.Say("box.last-opened", r.say.PlainDay(last.On), how)}
	openings := scheduler.Effective(b.Openings)
	for i := len(openings) - 1; i >= 0; i-- {
		o := &openings[i]
		if len(o.Gaps) == 0 {
			continue
		}
		var gaps []string
		for _, g := range o.Gaps {
			gaps = append(gaps, r.gap(g))
		}
		out = append(out, r.say.Say("box.last-gaps", r.say.PlainDay(o.On), strings.Join(gaps, "; ")))
		break
	}
	return out
}

// gap says one measured gap with its verdict.
func (r *reminder) gap(g scheduler.Gap) string {
	var size any = text.Length(g.MM)
	if g.MM == 0 && g.Peg != "" {
		size = g.Peg
	}
	return r.say.Say("box.last-gap", g.At, size, advice.JudgeGap(g, r.Club.Rules.GapMM))
}

func (r *reminder) state(id int64) *scheduler.BoxState {
	if r.Plan == nil {
		return nil
	}
	for i := range r.Plan.Boxes {
		if r.Plan.Boxes[i].BoxID == id {
			return &r.Plan.Boxes[i]
		}
	}
	return nil
}
