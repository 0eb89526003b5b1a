package mail

import (
	"strings"

	"pryday/scheduler"
)

// checklist is the work of one mail's visits, in the order of the hands. A
// hive or a box shows its steps as short words to tick; what each step is and
// why it matters is told once, at the end of the mail.
type checklist struct {
	say   func(key string, args ...any) string
	tell  func(scheduler.Text) string
	args  func(scheduler.Text) []any
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
func (l *checklist) of(items []scheduler.ChecklistItem) stepsOf {
	s := stepsOf{before: map[int64][]string{}, after: map[int64][]string{}, box: map[int64][]string{}}
	opened := map[int64]bool{}
	for _, it := range items {
		l.note(it)
		word := l.say("step." + string(it.Step))
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
func (l *checklist) note(it scheduler.ChecklistItem) {
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
		do, why = named(do, l.say("each.box")), scheduler.Text{Key: "why.joint"}
	case scheduler.StepLift:
		do = scheduler.Text{} // only the note on what the limit means
	case scheduler.StepGaps:
		limits := l.args(it.Do)[1:]
		l.steps = append(l.steps, oneLine(l.say("each.gaps", limits...)+" "+l.tell(it.Why)))
		return
	case scheduler.StepEntrance:
		do = named(do, l.say("each.hive"))
	case scheduler.StepStack:
		l.steps = append(l.steps, oneLine(l.say("each.stack")+" "+l.tell(it.Why)))
		return
	}
	l.steps = append(l.steps, oneLine(l.tell(do)+" "+l.tell(why)))
}

// named puts another name into a text that begins with one.
func named(t scheduler.Text, name string) scheduler.Text {
	if len(t.Args) > 0 {
		t.Args = append([]any{name}, t.Args[1:]...)
	}
	return t
}

// special are the texts of a box's steps that are its own.
func (r *reminder) special(items []scheduler.ChecklistItem, box int64) []string {
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
				places[i] = r.say.Word(g.WordKey())
			}
			out = append(out, r.say.Say("box.measure", strings.Join(places, ", ")))
		}
	}
	return out
}
