package web

import (
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
)

// printView is a visit on paper.
type printView struct {
	visitLine
	Top, All []string
	Bring    string
	Weather  string
	Stacks   []printStack
	Before   []string // what is done once, before the first hive
	AtEach   []string // what is done at every hive
	Joint    []degree
	Frames   []degree
	Scrapes  []degree
	Pegs     pegWords
}

// printStack is one hive on paper.
type printStack struct {
	stackView
	Rows  []printRow
	Ticks []string // what is done once at the hive, in short
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
	Gaps string // places worth measuring
	Lift string
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
			out.Before = append(out.Before, p.say.Tell(it.Do))
		}
	}
	for i := range p.apiary.Hives {
		h := &p.apiary.Hives[i]
		st := printStack{stackView: p.stack(h, v, v.On)}
		for _, it := range items {
			short := hiveTicks[it.Step]
			if it.HiveID != h.ID || onBox(it) || short.IsZero() {
				continue
			}
			st.Ticks = append(st.Ticks, p.say.Tell(short))
			if do := p.say.Tell(it.Do); it.Step != scheduler.StepEntrance && !slices.Contains(out.AtEach, do) {
				out.AtEach = append(out.AtEach, do)
			}
		}
		if len(st.Ticks) == 0 && st.Opens == 0 {
			continue
		}
		for _, b := range st.Boxes {
			row := printRow{boxView: b}
			for _, it := range items {
				if it.BoxID != b.ID {
					continue
				}
				switch it.Step {
				case scheduler.StepGaps:
					var places []string
					for _, at := range it.Gaps {
						places = append(places, p.say.Word(at))
					}
					row.Gaps = p.say.List(places)
				case scheduler.StepLift:
					row.Lift = p.say.Tell(it.Do)
				}
			}
			st.Rows = append(st.Rows, row)
		}
		out.Stacks = append(out.Stacks, st)
	}
	// Hives that are opened come first; entrances alone come last.
	slices.SortStableFunc(out.Stacks, func(a, b printStack) int { return min(b.Opens, 1) - min(a.Opens, 1) })
	return out
}
