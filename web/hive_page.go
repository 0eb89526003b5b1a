package web

import (
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
)

// hiveView is one hive as a picture: what was found, and what is to come.
type hiveView struct {
	ID       int64
	Name     string
	ApiaryID int64
	Apiary   string
	Retired  string
	NoBees   string // since when no colony lives in it
	Events   []eventLine
	Alone    string // why and until when it is left alone
	Next     *visitLine
	Why      string // of the box that is due first
	Boxes    []boxWhy
	Grid     *hiveGrid
	Chance   *oddsChart
	History  []openingLine
	Older    text.Text // of openings that are not shown; zero for none
	Trends   []string
	MayTend  bool
}

// boxWhy says why a box is due.
type boxWhy struct {
	ID   int64
	Name string
	Why  string
	Sure string // how far that can be trusted
}

// openingLine is one opening in the history.
type openingLine struct {
	On, ISO  string
	Box      string
	Named    bool   // its box is said
	Where    string // the hive, where that is not plain
	Word     string
	Degree   int
	Lines    []string
	Findings []gapLine
	By       string
	Path     string // of the form that corrects it; empty where there is none
	Changed  bool   // it corrects an earlier one
	Anchor   string // by which the page is led to it
	Photos   photosView
}

// historyLines is how many openings of a hive one page shows.
const historyLines = 40

func (s *Server) hive(w http.ResponseWriter, r *http.Request, who *visitor) error {
	p, h, err := s.hiveRecords(r, who, nil)
	if err != nil {
		return err
	}
	return s.showTo(w, r, who, p.club, http.StatusOK, "hive", p.say.Hive(h.Name), p.hiveView(h, who))
}

func (p *apiaryRecords) hiveView(h *scheduler.Hive, who *visitor) hiveView {
	v := hiveView{
		ID: h.ID, Name: p.say.Hive(h.Name), ApiaryID: p.apiary.ID, Apiary: p.apiary.Name, Alone: p.alone(h, p.today),
		Grid: p.hiveGrid(h), Chance: p.oddsChart(h), MayTend: who.mayTend(p.apiary),
	}
	v.Events = p.events(h, v.MayTend)
	if h.RetiredOn != 0 {
		v.Retired = p.say.PlainDay(h.RetiredOn)
	} else if gone, back, without := h.WithoutBees(p.today); without {
		v.NoBees, v.Alone = p.say.Say("page.colony.no-bees", text.Full(gone)), ""
		if back != 0 {
			v.NoBees = p.say.Say("page.colony.no-bees-until", text.Full(gone), text.Full(back))
		} else {
			v.Chance = nil // it stays what it is
		}
	}
	var visit *scheduler.Visit // whose day the page begins with
	if at := slices.IndexFunc(p.plan.Visits, func(x scheduler.Visit) bool { return opens(&x, h) }); at >= 0 {
		visit = &p.plan.Visits[at]
		next := p.visitLine(visit, who.MemberID)
		v.Next = &next
	}
	first := scheduler.MaxDate
	for i := len(h.Boxes) - 1; i >= 0; i-- {
		b := &h.Boxes[i]
		v.Boxes, v.Trends = append(v.Boxes, p.boxWhy(b, visit)), append(v.Trends, p.trends(b)...)
		if s := p.states[b.ID]; s != nil && s.Due != 0 && s.Due < first {
			first, v.Why = s.Due, sentence(p.say.Tell(p.explainBeside(s, visit).Text()))
		}
	}
	v.history(p, h, who)
	return v
}

// explainBeside explains a box where the day of a visit stands beside; nil for none.
func (p *apiaryRecords) explainBeside(s *scheduler.BoxState, shown *scheduler.Visit) scheduler.BoxExplanation {
	e := scheduler.ExplainBox(p.club, p.plan, s)
	e.Shown = shown != nil && e.Visit == shown
	return e
}

func (p *apiaryRecords) boxWhy(b *scheduler.Box, shown *scheduler.Visit) boxWhy {
	x := boxWhy{ID: b.ID, Name: b.Name}
	if s := p.states[b.ID]; s != nil {
		why := p.explainBeside(s, shown)
		x.Why, x.Sure = sentence(below(p.say.Tell(why.Text()), b.Name)), p.say.Tell(why.Sure())
	}
	return x
}

// trends says how the gaps of a box drift, where that is news.
func (p *apiaryRecords) trends(b *scheduler.Box) []string {
	var out []string
	for _, t := range advice.GapTrends(b, p.today) {
		if !t.StandsOut {
			continue
		}
		at, trend := text.New("page.found.at", b.Name, t.At), "trend.widening"
		if t.MMPerYear < 0 {
			trend = "trend.narrowing"
		}
		out = append(out, sentence(p.say.Say(trend, at, text.Length(max(t.MMPerYear, -t.MMPerYear)))))
	}
	return out
}

// history lists the openings of the boxes that stand on the hive, the newest
// first.
func (v *hiveView) history(p *apiaryRecords, h *scheduler.Hive, who *visitor) {
	type of struct {
		box *scheduler.Box
		o   scheduler.Opening
		at  int
	}
	var all []of
	for i := range h.Boxes {
		b := &h.Boxes[i]
		for _, o := range scheduler.Effective(b.Openings) {
			all = append(all, of{b, o, i})
		}
	}
	slices.SortStableFunc(all, func(a, b of) int {
		if a.o.On != b.o.On {
			return int(b.o.On - a.o.On)
		}
		return b.at - a.at
	})
	if older := len(all) - historyLines; older > 0 {
		v.Older = text.New("page.hive.older", older)
		if who.Role == scheduler.Organiser { // others have no export
			v.Older = text.New("page.hive.older-export", older)
		}
	}
	for _, x := range all[:min(len(all), historyLines)] {
		line := p.openingLine(h, x.box, &x.o, who)
		line.Named = true
		v.History = append(v.History, line)
	}
}

// openingLine says what was found when a box of a hive was opened; of a box on no
// hive h is nil.
func (p *apiaryRecords) openingLine(h *scheduler.Hive, b *scheduler.Box, o *scheduler.Opening, who *visitor) openingLine {
	stands := h
	if h == nil {
		stands = &scheduler.Hive{}
	}
	line := openingLine{
		On: p.say.PlainDay(o.On), ISO: o.On.String(), Box: b.Name, Word: p.say.Tell(o.HowHard()), Degree: int(o.Difficulty()),
		Lines: p.openingLines(o), Findings: p.findings(stands, b, o), By: p.whoOpened(o), Changed: o.Supersedes != "",
		Photos: p.photosView(b, o, who),
	}
	if o.LeftShut {
		line.Word = p.say.Say("page.hive.left-shut")
	}
	if h != nil {
		rec := recorder{base: "/hive/" + itoa(h.ID) + "/record", on: o.On}
		line.Path = rec.address(0) + "#box-" + itoa(b.ID)
	}
	return line
}
