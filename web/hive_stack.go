package web

import (
	"fmt"
	"math"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
)

// stackView is one hive drawn from the top down.
type stackView struct {
	HiveID   int64
	Hive     string
	BeeSpace scheduler.BeeSpace
	Alone    string // why and until when it is left alone
	Boxes    []boxView
	Opens    int  // boxes to open
	Asks     bool // on the page of a visit: some of its boxes are to be opened, or were taken off
	Recorded int  // boxes recorded on the day
	Lifts    []string
}

// boxView is one box of a drawing.
type boxView struct {
	ID       int64
	Name     string
	Kind     string
	Height   string // class of the drawing: h1 (the shallowest) to h6
	Open     bool   // to be opened on the visit
	Off      bool   // a person took it off the visit
	Why      string
	Last     string
	Chance   string
	Hard     int  // degree of the last opening, -1 for none
	Risk     int  // tenths of the odds of a hard opening, for the drawing
	Recorded bool // opened on the day
	Late     bool // past the day by which it should have been opened
}

// stack draws a hive as it stands, for a visit (nil for none) on a day.
func (p *apiaryRecords) stack(h *scheduler.Hive, v *scheduler.Visit, on scheduler.Date) stackView {
	out := stackView{HiveID: h.ID, Hive: p.say.Hive(h.Name), BeeSpace: h.BeeSpace, Alone: p.alone(h, on)}
	planned := map[int64]scheduler.VisitBox{}
	off := map[int64]bool{}
	if v != nil {
		for _, b := range v.Boxes {
			planned[b.BoxID] = b
		}
		for _, id := range v.NotBoxes {
			off[id] = true
		}
	}
	var lifted []int64
	for i := len(h.Boxes) - 1; i >= 0; i-- {
		b := &h.Boxes[i]
		x := p.boxView(b)
		vb, open := planned[b.ID]
		if open {
			x.Open, x.Why, x.Chance = true, p.say.Tell(vb.Why(p.today, false)), ""
			if vb.Odds >= text.WorthSaying {
				x.Chance = sentence(p.say.Say("page.stack.hard", text.Chance(vb.Odds)))
			}
			if vb.Stuck >= text.WorthSaying {
				x.Chance = sentence(p.say.Say("page.stack.hard-stuck", text.Chance(vb.Odds), text.Chance(vb.Stuck)))
			}
			x.Risk = tenths(vb.Odds)
			out.Opens++
			if i > 0 {
				lifted = append(lifted, b.ID)
			}
		}
		x.Off = off[b.ID]
		if o := b.OpeningOn(on); o != nil {
			x.Recorded = true
			out.Recorded++
		}
		out.Boxes = append(out.Boxes, x)
	}
	for _, l := range advice.StackLifts(p.club, h, p.season.Stage(on), lifted) {
		if l.Method != advice.LiftAlone {
			out.Lifts = append(out.Lifts, p.say.Tell(l.Text))
		}
	}
	return out
}

// cameTo leaves out of the stack of a visit what it no longer asks to be done: of boxes
// that were opened, and of all where nothing is ahead.
func (st *stackView) cameTo(opened map[int64]bool, ahead bool) {
	if !ahead {
		st.Lifts = nil
	}
	for i := range st.Boxes {
		x := &st.Boxes[i]
		if opened[x.ID] && !x.Recorded {
			x.Recorded = true
			st.Recorded++
		}
		x.Open = x.Open && ahead && !x.Recorded
		st.Asks = st.Asks || ahead && (x.Open || x.Off)
	}
}

// boxView says what is known of one box today.
func (p *apiaryRecords) boxView(b *scheduler.Box) boxView {
	x := boxView{ID: b.ID, Name: b.Name, Kind: p.say.Kind(b.Kind), Height: p.height(b.Kind), Hard: -1, Last: p.last(b)}
	if s := p.states[b.ID]; s != nil {
		x.Risk, x.Late = tenths(s.Odds), s.Overdue && s.LeftAlone.IsZero()
		if s.Odds >= text.WorthSaying {
			x.Chance = sentence(p.say.Say("explain.hard-today", text.Chance(s.Odds)))
		}
	}
	if o, ok := b.LastOpening(scheduler.MaxDate); ok {
		x.Hard = int(o.Difficulty())
	}
	return x
}

// last says how hard a box was last time.
func (p *apiaryRecords) last(b *scheduler.Box) string {
	o, ok := b.LastOpening(scheduler.MaxDate)
	if !ok {
		return p.say.Tell(b.NeverOpened())
	}
	how := p.say.Tell(o.HowHard())
	if o.LeftShut {
		how = p.say.Say("box.last-shut")
	}
	return p.say.Say("box.last-opened", p.say.PlainDay(o.On), how)
}

// alone says why and until when a hive is left alone on a day.
func (p *apiaryRecords) alone(h *scheduler.Hive, on scheduler.Date) string {
	for _, period := range h.LeaveAlone {
		if period.Contains(on) {
			return p.period(period)
		}
	}
	return ""
}

// period says until when a period lasts, and why.
func (p *apiaryRecords) period(period scheduler.Period) string {
	until := p.say.Say("leave.open")
	if period.Until != 0 {
		until = p.say.Say("period.until", p.say.PlainDay(period.Until))
	}
	if why := period.Why(); !why.IsZero() {
		return fmt.Sprintf("%s, %s", p.say.Tell(why), until)
	}
	return until
}

// height sorts a kind of box into the heights of the drawing.
func (p *apiaryRecords) height(kind string) string {
	k, ok := p.club.Kind(kind)
	if !ok {
		return "h4"
	}
	return fmt.Sprintf("h%d", min(max(int(k.DepthMM/50), 1), 6))
}

func tenths(odds float64) int { return int(math.Round(odds * 10)) }
