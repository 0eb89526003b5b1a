package mail

import (
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
)

// checklist is the work of one mail's visits, in the order of the hands. A
// hive or a box shows its steps as short words to tick; what each step is and
// why it matters is told once, at the end of the mail.
type checklist struct {
	say   *text.Speaker
	steps []string // the long form of each step, in the order first met
	told  map[string]bool
}

// stepsOf are the short steps of a visit: of the whole apiary, of each hive
// before and after its boxes, and of each box.
type stepsOf struct {
	apiary        []string
	before, after map[int64][]string // by hive
	box           map[int64][]string
}

// of collects the steps of one visit and notes their long forms.
func (l *checklist) of(items []advice.ChecklistItem) stepsOf {
	s := stepsOf{before: map[int64][]string{}, after: map[int64][]string{}, box: map[int64][]string{}}
	opened := map[int64]bool{}
	for _, it := range items {
		l.note(it)
		word := l.say.Say("checklist.step." + string(it.Step))
		switch {
		case it.BoxID != 0:
			opened[it.HiveID] = true
			s.box[it.BoxID] = append(s.box[it.BoxID], word)
		case it.HiveID == 0:
			s.apiary = append(s.apiary, word)
		case opened[it.HiveID]:
			s.after[it.HiveID] = append(s.after[it.HiveID], word)
		default:
			s.before[it.HiveID] = append(s.before[it.HiveID], word)
		}
	}
	return s
}

// note tells a kind of step once. Where the text begins with the name of a
// hive or a box, the first one met stands for all of them; what differs from
// box to box (a lift, gaps to measure) is told with its box.
func (l *checklist) note(it advice.ChecklistItem) {
	about := it.Do.Key
	if it.Step == scheduler.StepLift || it.Step == scheduler.StepGaps {
		about = it.Why.Key
	}
	if l.told[about] {
		return
	}
	l.told[about] = true
	do, why := it.Do, it.Why
	switch it.Step {
	case scheduler.StepJoint:
		// Why a box is opened stands with the box; here, why one answers.
		do, why = named(do, l.say.Say("mail.each.box")), text.New("checklist.why.joint")
	case scheduler.StepLift:
		do = text.Text{} // only the note on what the limit means
	case scheduler.StepGaps:
		limits := it.Do.Args[1:]
		l.steps = append(l.steps, oneLine(l.say.Say("mail.each.gaps", limits...)+" "+l.say.Tell(it.Why)))
		return
	case scheduler.StepEntrance:
		do = named(do, l.say.Say("mail.each.hive"))
	case scheduler.StepStack:
		l.steps = append(l.steps, oneLine(l.say.Say("mail.each.stack")+" "+l.say.Tell(it.Why)))
		return
	}
	l.steps = append(l.steps, oneLine(l.say.Tell(do)+" "+l.say.Tell(why)))
}

// named puts another name into a text that begins with one.
func named(t text.Text, name string) text.Text {
	if len(t.Args) > 0 {
		t.Args = append([]any{name}, t.Args[1:]...)
	}
	return t
}

// ownSteps are the texts of a box's steps that are its own.
func (r *reminder) ownSteps(items []advice.ChecklistItem, box int64) []string {
	var out []string
	for _, it := range items {
		if it.BoxID != box {
			continue
		}
		switch it.Step {
		case scheduler.StepLift:
			out = append(out, oneLine(r.say.Tell(named(it.Do, r.say.Say("box.lift")))))
		case scheduler.StepGaps:
			places := make([]string, len(it.Gaps))
			for i, g := range it.Gaps {
				places[i] = r.say.Word(g)
			}
			out = append(out, r.say.Say("box.measure", strings.Join(places, ", ")))
		}
	}
	return out
}
