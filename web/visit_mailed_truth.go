package web

import (
	"slices"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/scheduler/text"
)

// actButton leads to another answer about the same visit.
type actButton struct{ Address, Word string }

// answerable reports whether a visit still waits for what people say.
func answerable(v *scheduler.Visit) bool { return v.Status.Open() || v.Status == scheduler.Unanswered }

// already says what is true of the visit where the answer that an address
// stands for changes nothing any more: it was given before, or the visit is
// over. It returns nil where there is something to do.
func (s *Server) already(a *acting) *actedView {
	v, do := a.v, a.action.Do
	if a.asksAlso() {
		if v.Status == scheduler.Done && len(a.p.stillUnwritten(v, nil).Boxes) > 0 {
			return nil
		}
		return s.settled(a)
	}
	by, on, all := a.recorders()
	switch {
	case all && (do == notify.OpenedDeed || !answerable(v)):
		return s.found(a, a.doneBy(by, on), notify.RecordDeed)
	case do == notify.OpenedDeed && (v.Status != scheduler.Done || len(v.Boxes) > 0):
		return nil // what was opened stays so, whatever became of the visit
	case v.Status == scheduler.Done:
		return s.found(a, a.doneBy(by, v.On), notify.RecordDeed)
	case v.Status == scheduler.Cancelled && v.On <= a.p.today:
		return s.found(a, a.truth("page.act.cancelled"), notify.OpenedDeed)
	case v.Status == scheduler.Cancelled:
		return s.found(a, a.truth("page.act.cancelled"))
	case v.Status == scheduler.Missed:
		return s.found(a, a.truth("page.act.missed"), notify.OpenedDeed)
	case do == notify.GoDeed && v.Status == scheduler.Unanswered:
		return s.found(a, a.truth("page.act.day-over"), notify.OpenedDeed, notify.RainedOffDeed, notify.CantGoDeed)
	case do == notify.GoDeed && v.IsTakenBy(a.action.Member):
		return s.found(a, a.truth("page.act.go-already"), notify.CantGoDeed)
	case do == notify.CantGoDeed && v.HasRefused(a.action.Member) && !slices.Contains(v.Who, a.action.Member):
		if v.Status == scheduler.Unanswered {
			return s.found(a, a.truth("page.act.off-already"))
		}
		return s.found(a, a.truth("page.act.off-already"), notify.GoDeed)
	}
	return nil
}

// asksAlso reports whether the address answers about boxes of a done visit
// without a word.
func (a *acting) asksAlso() bool {
	return a.action.Do == notify.AlsoOpenedDeed || a.action.Do == notify.NotOpenedDeed
}

// truth says something of the visit with its day and place.
func (a *acting) truth(key string) text.Text {
	return text.New(key, text.Full(a.v.On), a.p.apiary.Name)
}

// doneBy says on which day members recorded the visit as done.
func (a *acting) doneBy(members []int64, on scheduler.Date) text.Text {
	day, names := text.Full(on), a.p.people(members)
	switch {
	case slices.Equal(members, []int64{a.action.Member}):
		return text.New("page.act.done-by-you", day, a.p.apiary.Name)
	case len(names) > 0:
		return text.New("page.act.done-by", day, a.p.apiary.Name, names)
	}
	return text.New("page.act.done", day, a.p.apiary.Name)
}

// recorders are the members who recorded the boxes of the visit as opened for
// it, and the last day of that; all reports whether every box was. Before the
// rules' least days a box would not be on the visit, so what was opened since
// was opened for it.
func (a *acting) recorders() (by []int64, on scheduler.Date, all bool) {
	all = len(a.v.Boxes) > 0
	for _, vb := range a.v.Boxes {
		var o *scheduler.Opening
		if _, box := a.p.apiary.Box(vb.BoxID); box != nil {
			o = box.OpeningFor(a.v.On, scheduler.Date(a.p.club.Rules.MinDays)-1)
		}
		if o == nil {
			all = false
			continue
		}
		on = max(on, o.On)
		if who := o.OpenedBy().Member; who != 0 && !slices.Contains(by, who) {
			by = append(by, who)
		}
	}
	return by, on, all
}

// found is a page that says what is true, with the answers that make sense now.
func (s *Server) found(a *acting, says text.Text, deeds ...notify.Deed) *actedView {
	view := &actedView{notice: notice{Text: a.p.say.Tell(says)}}
	for _, do := range deeds {
		word := actWords[do]
		if do == notify.RainedOffDeed && a.v.Status == scheduler.Unanswered {
			word = "button.not-yet"
		}
		view.Buttons = append(view.Buttons, actButton{s.answerAddress(a, do), a.p.say.Say(word)})
	}
	return view
}

// answerAddress is where the reader of an address gives another answer about
// the visit, as it stands now.
func (s *Server) answerAddress(a *acting, do notify.Deed) string {
	action := a.action
	action.Do, action.Sequence, action.On = do, a.v.Sequence, a.v.On
	return notify.ActionPath + s.cfg.Notify.Signer().Sign(action)
}

// actWords are what buttons say that lead to an answer.
var actWords = map[notify.Deed]string{
	notify.RecordDeed: "page.act.correct", notify.OpenedDeed: "button.already", notify.RainedOffDeed: "button.rained",
	notify.CantGoDeed: "button.cant", notify.GoDeed: "button.take",
}

// isAsSeen reports whether the visit still is what its reader answers about: on
// the day that the page or the mail named. An address that names no day goes by
// the sequence. Whoever moves a visit has seen all of it.
func (a *acting) isAsSeen(f *form) bool {
	if a.action.Do == notify.OpenedDeed || a.asksAlso() {
		return true
	}
	sequence := int64(a.action.Sequence)
	if f != nil && f.has("sequence") {
		sequence = f.id("sequence")
	}
	day := a.action.On
	if f != nil {
		if seen, err := scheduler.ParseDate(f.values.Get("seen")); err == nil {
			day = seen
		}
	}
	if day == 0 || a.action.Do == notify.RainedOffDeed && f != nil && f.has("sequence") {
		return sequence == int64(a.v.Sequence)
	}
	return day == a.v.On
}
