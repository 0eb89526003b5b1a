package web

import (
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
)

// printView is a visit on paper.
type printView struct {
	visitLine
	Access   string // only where whoever reads is signed in
	Top, All []string
	Bring    string
	Weather  string
	Stacks   []printStack
	Before   []printTick // what is done once, before the first hive
	AtEach   []string    // what is done at every hive
	Joint    []degree
	Frames   []degree
	Scrapes  []degree
	Pegs     pegWords
}

// printStack is one hive on paper.
type printStack struct {
	stackView
	Rows    []printRow
	AsDrawn bool        // was ticked
	Ticks   []printTick // what is done once at the hive, in short
}

// printTick is a step with its box to tick, ticked where that was kept already.
type printTick struct {
	Do   string
	Done bool
}

// hiveTicks are the steps at a hive as a whole in a word or two.
var hiveTicks = map[scheduler.Step]text.Text{
	scheduler.StepLid: text.New("page.sheet.lid"), scheduler.StepExcluder: text.New("checklist.step.excluder"),
	scheduler.StepBrood: text.New("checklist.step.brood"), scheduler.StepPests: text.New("page.sheet.pests"),
	scheduler.StepClose: text.New("page.sheet.close"), scheduler.StepEntrance: text.New("checklist.step.entrance"),
}

// pegWords are how thick the two pegs are.
type pegWords struct{ Least, Most string }

// printRow is one box on paper, from the top down.
type printRow struct {
	boxView
	Hard  string   // how hard it was last time, and when
	Due   string   // the day by which it is to be opened
	Found string   // what was wrong with it last time
	Below []string // what else to know: what was noted, where to measure, how to lift
}

func (p *apiaryRecords) printSheet(v *scheduler.Visit, who *visitor) printView {
	stage := p.season.Stage(v.On)
	out := printView{
		visitLine: p.visitLine(v, who.MemberID), Bring: p.bring(v, stage), Weather: p.weather(v),
		Pegs: pegWords{p.say.Length(p.club.Rules.GapMM.Least), p.say.Length(p.club.Rules.GapMM.Most)},
	}
	out.Top, out.All = p.cautions(v, stage, 0)
	out.Joint, out.Frames = degrees(p.say, scheduler.JointWords, scheduler.NotTried), degrees(p.say, scheduler.FramesWords, scheduler.NotTried)
	out.Scrapes = scrapes(p.say, "")
	items := advice.Checklist(p.club, v, stage)
	onBox := func(it advice.ChecklistItem) bool { return it.BoxID != 0 }
	for _, it := range items {
		if it.HiveID == 0 {
			out.Before = append(out.Before, printTick{p.say.Tell(it.Do), v.Tick(it.Step, 0, 0) != nil})
		}
	}
	for _, h := range p.sheetOrder(v, v.On) {
		st := printStack{stackView: p.stack(h, v, v.On), AsDrawn: v.Tick(scheduler.StepStack, h.ID, 0) != nil}
		for _, it := range items {
			short := hiveTicks[it.Step]
			if it.HiveID != h.ID || onBox(it) || short.IsZero() {
				continue
			}
			st.Ticks = append(st.Ticks, printTick{p.say.Tell(short), v.Tick(it.Step, h.ID, 0) != nil})
			if do := p.say.Tell(it.Do); it.Step != scheduler.StepEntrance && !slices.Contains(out.AtEach, do) {
				out.AtEach = append(out.AtEach, do)
			}
		}
		if len(st.Ticks) == 0 && st.Opens == 0 {
			continue
		}
		for _, b := range st.Boxes {
			row := printRow{boxView: b, Hard: p.hardLast(h.Box(b.ID), v.On), Due: p.dueOn(v, b.ID), Found: p.foundLast(h.Box(b.ID), v.On)}
			if note := p.notedLast(h.Box(b.ID), v.On); note != "" {
				row.Below = append(row.Below, note)
			}
			for _, it := range items {
				if it.BoxID != b.ID || !b.Open {
					continue
				}
				switch it.Step {
				case scheduler.StepGaps:
					var places []string
					for _, at := range it.Gaps {
						places = append(places, p.say.Word(at))
					}
					row.Below = append(row.Below, p.say.Say("page.sheet.gaps", places))
				case scheduler.StepLift:
					row.Below = append(row.Below, strings.TrimPrefix(p.say.Tell(it.Do), b.Name+": "))
				}
			}
			st.Rows = append(st.Rows, row)
		}
		out.Stacks = append(out.Stacks, st)
	}
	return out
}

// dueOn says by which day a box of a visit is to be opened; empty where nobody
// knows.
func (p *apiaryRecords) dueOn(v *scheduler.Visit, box int64) string {
	for _, vb := range v.Boxes {
		if vb.BoxID == box && vb.Due != 0 {
			return p.say.PlainDay(vb.Due)
		}
	}
	if s := p.states[box]; s != nil && s.Due != 0 {
		return p.say.PlainDay(s.Due)
	}
	return ""
}

// hardLast says how hard a box was when it was last tried before a day, and when
// that was.
func (p *apiaryRecords) hardLast(b *scheduler.Box, before scheduler.Date) string {
	if b == nil {
		return ""
	}
	o, ok := b.LastOpening(before)
	switch {
	case !ok:
		return p.say.Tell(b.NeverOpened())
	case o.LeftShut:
		return p.say.Say("page.sheet.last", text.New("box.last-shut"), p.say.PlainDay(o.On))
	}
	return p.say.Say("page.sheet.last", o.HowHard(), p.say.PlainDay(o.On))
}

// foundLast says what was wrong with a box when it was last opened before a day.
func (p *apiaryRecords) foundLast(b *scheduler.Box, before scheduler.Date) string {
	if b == nil {
		return ""
	}
	o, ok := b.LastOpening(before)
	if !ok {
		return ""
	}
	var found []string
	for _, c := range o.Condition {
		found = append(found, p.say.Word(c))
	}
	if len(found) == 0 {
		return ""
	}
	return sentence(p.say.List(found))
}

// notedLast is what was noted of it then.
func (p *apiaryRecords) notedLast(b *scheduler.Box, before scheduler.Date) string {
	if b == nil {
		return ""
	}
	o, _ := b.LastOpening(before)
	return strings.Join(strings.Fields(o.Note), " ")
}
