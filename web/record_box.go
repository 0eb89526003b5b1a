package web

import (
	"slices"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
)

// recordBox is the form of one box, and what was saved of it.
type recordBox struct {
	boxView
	UUID       string // of the opening that the form makes
	Prefix     string // of its fields in the form of its hive; empty where it has a form of its own
	LastJoint  string // the degree of its joint last time, as a field's value; empty for none
	Supersedes string // the opening that the form corrects
	Planned    bool
	Saved      *savedBox
	Joint      []degree
	Frames     []degree
	Scraped    []degree
	Broke      []tick
	Wrong      []tick
	Gaps       []gapRow
	Places     []place1
	GapsOpen   bool
	Shut       bool
	Pegs       text.Text // how to measure a gap
	Note       string
	Opener     *openerView // in a form of its own
	Question   text.Text
	Problems   map[string]text.Text

	PhotosAgain bool // have to be chosen: a browser sends them once
}

// degree is one big button.
type degree struct {
	Value   string
	Word    string
	Text    string
	Checked bool
}

// degrees are the answers about how hard something was, in what the hand felt.
func degrees(say *text.Speaker, felt func(scheduler.Difficulty) text.Text, chosen scheduler.Difficulty) (out []degree) {
	for d := scheduler.Loose; d <= scheduler.Stuck; d++ {
		out = append(out, degree{string(rune('0' + d)), say.Word(d), say.Tell(felt(d)), d == chosen})
	}
	return out
}

// scrapes are the answers about what was scraped.
func scrapes(say *text.Speaker, chosen scheduler.Scraped) (out []degree) {
	for _, s := range []scheduler.Scraped{scheduler.ScrapedAll, scheduler.ScrapedPart, scheduler.ScrapedNone} {
		out = append(out, degree{Value: string(s), Word: say.Word(s), Checked: s == chosen})
	}
	return out
}

// tick is one thing that may be so.
type tick struct {
	Value, Word string
	Checked     bool
}

func (t tick) on() bool { return t.Checked }

// gapRow is one place to measure.
type gapRow struct {
	At    scheduler.GapPlace // empty for a place to choose
	Label string
	Size  string
	Peg   scheduler.Peg
}

// place1 is one place of gaps to choose.
type place1 struct {
	Value, Word string
}

// savedBox is what was recorded of a box.
type savedBox struct {
	OpeningID string
	Lines     []string
	Findings  []gapLine
	Fresh     bool         // saved just now
	Next      *text.Marked // when it is due next, and was before, the new day marked
	Measure   bool         // it was hard, and nothing was measured
	By        string       // who made and recorded it, where that is worth saying
	Twice     []savedBox   // what else was recorded of it that day, by people who did not know of each other
	UndoID    string       // of the opening that takes this one back
	Photos    photosView
}

// gapLine is one gap with its verdict, cause and cure.
type gapLine struct {
	What, Verdict, Cause, Cure string
	Wrong                      bool
}

// breaks are the conditions that an opening itself can bring about.
var breaks = []scheduler.Condition{
	scheduler.FrameBroken, scheduler.LugBroken, scheduler.CornerLoose, scheduler.Cracked, scheduler.CombDamaged, scheduler.ExcluderBent, scheduler.LidDamaged,
}

// box makes the form of one box, filled in with what was recorded on the day.
func (rec *recorder) box(h *scheduler.Hive, b *scheduler.Box, worth []scheduler.GapPlace, fresh *savedNow) recordBox {
	x := recordBox{boxView: rec.p.boxView(b), UUID: uuid.NewString(), Planned: rec.planned(b.ID), LastJoint: lastJoint(b, rec.on)}
	o := b.OpeningOn(rec.on)
	if o != nil {
		x.Recorded, x.Supersedes = true, o.ID
		x.Saved = rec.saved(h, b, o)
		x.Saved.Twice = rec.twice(h, b, o)
		if was, ok := fresh.of(rec, b.ID); ok {
			x.Saved.Fresh = true
			if s := rec.p.states[b.ID]; s != nil && s.Due != 0 {
				next := rec.p.say.Marked("page.record.next-due", s.Due)
				if was != 0 && was != s.Due {
					next = rec.p.say.Marked("page.record.next-due-was", s.Due, was)
				}
				x.Saved.Next = &next
			}
			x.Saved.Measure = o.Difficulty() >= scheduler.Hard && !o.LeftShut && len(o.Gaps) == 0
		}
	}
	if o == nil {
		x.Prefix = fieldsOf(b.ID)
	}
	rec.fill(&x, o, worth)
	return x
}

// Unanswered reports whether nobody has said how the box came apart.
func (x *recordBox) Unanswered() bool {
	return !x.Shut && !slices.ContainsFunc(x.Joint, func(d degree) bool { return d.Checked })
}

// AnyBroke and AnyWrong report whether something is ticked there.
func (x *recordBox) AnyBroke() bool { return slices.ContainsFunc(x.Broke, tick.on) }
func (x *recordBox) AnyWrong() bool { return slices.ContainsFunc(x.Wrong, tick.on) }

// MoreOpen reports whether the box has answers beyond how it came apart.
func (x *recordBox) MoreOpen() bool {
	said := func(d degree) bool { return d.Checked }
	return x.Note != "" || x.PhotosAgain || !x.Problems["photo"].IsZero() || x.AnyBroke() || x.AnyWrong() || slices.ContainsFunc(x.Frames, said) || slices.ContainsFunc(x.Scraped, said) ||
		slices.ContainsFunc(x.Gaps, func(g gapRow) bool { return g.Size != "" || g.Peg != "" })
}

// InStack reports whether the box is asked for in the form of its hive.
func (x *recordBox) InStack() bool { return x.Prefix != "" }

func lastJoint(b *scheduler.Box, on scheduler.Date) string {
	if d := jointBefore(b, on); d != scheduler.NotTried {
		return string(rune('0' + d))
	}
	return ""
}

// fill sets the answers of a box's form; o is nil for an empty one.
func (rec *recorder) fill(x *recordBox, o *scheduler.Opening, worth []scheduler.GapPlace) {
	say := rec.p.say
	if o != nil && rec.who.person != nil {
		x.Opener = rec.openerOf(o.OpenedBy(), o.OpenedBy() == scheduler.Opener{})
	}
	joint, frames, scraped := scheduler.NotTried, scheduler.NotTried, scheduler.Scraped("")
	if o != nil {
		x.Note, x.Shut, scraped = o.Note, o.LeftShut, o.Scraped
		if !o.LeftShut {
			joint, frames = o.Joint, o.Frames
		}
	}
	x.Joint, x.Frames = degrees(say, scheduler.JointWords, joint), degrees(say, scheduler.FramesWords, frames)
	x.Scraped = scrapes(say, scraped)
	for _, c := range scheduler.Conditions {
		t := tick{string(c), say.Word(c), o != nil && slices.Contains(o.Condition, c)}
		if slices.Contains(breaks, c) {
			x.Broke = append(x.Broke, t)
		} else {
			x.Wrong = append(x.Wrong, t)
		}
	}
	x.Pegs, x.GapsOpen = rec.pegs(), len(worth) > 0
	row := func(g scheduler.Gap) gapRow {
		out := gapRow{At: g.At, Label: say.Word(g.At), Peg: g.Peg}
		if g.MM > 0 {
			out.Size = say.Length(g.MM)
		}
		return out
	}
	if o != nil {
		for _, g := range o.Gaps {
			x.Gaps = append(x.Gaps, row(g))
			x.GapsOpen = true
		}
	}
	rec.addPlaces(x, worth)
	for _, at := range scheduler.GapPlaces {
		x.Places = append(x.Places, place1{string(at), say.Word(at)})
	}
	x.Gaps = append(x.Gaps, gapRow{})
}

// addPlaces adds rows for places worth measuring that have none.
func (rec *recorder) addPlaces(x *recordBox, worth []scheduler.GapPlace) {
	for _, at := range worth {
		if !slices.ContainsFunc(x.Gaps, func(g gapRow) bool { return g.At == at }) {
			x.Gaps = append(x.Gaps, gapRow{At: at, Label: rec.p.say.Word(at)})
		}
	}
}

// saved says what an opening holds.
func (rec *recorder) saved(h *scheduler.Hive, b *scheduler.Box, o *scheduler.Opening) *savedBox {
	out := &savedBox{OpeningID: o.ID, Lines: rec.p.openingLines(o), Findings: rec.p.findings(h, b, o), Photos: rec.p.photosView(b, o, rec.who)}
	if o.By != rec.who.MemberID || o.Opener != nil {
		out.By = rec.byWhom(o)
	}
	return out
}

// twice lists what stands beside the opening that counts on its day and says
// something else.
func (rec *recorder) twice(h *scheduler.Hive, b *scheduler.Box, counts *scheduler.Opening) (out []savedBox) {
	for _, o := range b.OpeningsOn(rec.on) {
		if o.ID == counts.ID || o.SameAnswers(counts) {
			continue
		}
		other := rec.saved(h, b, &o)
		other.By, other.UndoID = rec.byWhom(&o), uuid.NewString()
		out = append(out, *other)
	}
	return out
}

// byWhom says in a sentence who recorded an opening, and who made it where that
// was another.
func (rec *recorder) byWhom(o *scheduler.Opening) string {
	switch who := rec.p.whoOpened(o); {
	case who == "":
		return ""
	case o.Opener != nil:
		return sentence(who)
	default:
		return rec.p.say.Say("page.record.by", who)
	}
}

// openingLines says what an opening found, in words.
func (p *apiaryRecords) openingLines(o *scheduler.Opening) []string {
	if o.LeftShut {
		out := []string{p.say.Say("page.found.shut")}
		if o.Note != "" {
			out = append(out, o.Note)
		}
		return out
	}
	if o.Difficulty() == scheduler.NotTried {
		return append([]string{p.say.Say("page.found.not-said")}, p.otherLines(o)...)
	}
	var out []string
	if o.Joint != scheduler.NotTried {
		out = append(out, p.say.Say("page.found.joint", o.Joint, scheduler.JointWords(o.Joint)))
	}
	if o.Frames != scheduler.NotTried {
		out = append(out, p.say.Say("page.found.frames", o.Frames, scheduler.FramesWords(o.Frames)))
	}
	if o.Scraped != "" { // else nobody said it
		out = append(out, p.say.Say("page.found.scraped", o.Scraped))
	}
	return append(out, p.otherLines(o)...)
}

// otherLines says what an opening found beside how hard it was.
func (p *apiaryRecords) otherLines(o *scheduler.Opening) (out []string) {
	if len(o.Condition) > 0 {
		var found []string
		for _, c := range o.Condition {
			found = append(found, p.say.Word(c))
		}
		out = append(out, p.say.Say("page.found.wrong", found))
	}
	if o.Note != "" {
		out = append(out, o.Note)
	}
	return out
}

// findings judges the gaps of an opening.
func (p *apiaryRecords) findings(h *scheduler.Hive, b *scheduler.Box, o *scheduler.Opening) []gapLine {
	kind, _ := p.club.Kind(b.Kind)
	var out []gapLine
	for _, g := range o.Gaps {
		f := advice.FindGap(g, p.club.Rules.GapMM, o.Condition, h.BeeSpace, kind)
		line := gapLine{Verdict: p.say.Word(f.Verdict), Wrong: f.Verdict.Wrong() || f.Verdict.Borderline()}
		line.What = p.say.Say("page.found.at", g.At, p.gapSize(g))
		if !f.Cause.IsZero() {
			line.Cause, line.Cure = p.say.Say("page.found.likely", f.Cause), sentence(p.say.Tell(f.Cure))
		}
		out = append(out, line)
	}
	return out
}

// gapSize says a length, or what the pegs said.
func (p *apiaryRecords) gapSize(g scheduler.Gap) string {
	if g.MM == 0 && g.Peg != "" {
		return p.say.Word(g.Peg)
	}
	return p.say.Length(g.MM)
}
