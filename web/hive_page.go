package web

import (
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
	"pryday/store"
)

// hiveView is one hive with its history and what can be changed about it.
type hiveView struct {
	ID        int64
	Name      string
	ApiaryID  int64
	Apiary    string
	Retired   string
	BeeSpace  scheduler.BeeSpace
	Stack     stackView
	Boxes     []boxPanel
	Chance    *oddsChart
	History   []openingLine
	More      int // older openings that are not shown
	Trends    []string
	LeaveDays []periodLine
	Requeened []string
	MayTend   bool
	Kinds     []choiceName
	Hives     []store.HiveName // where boxes can go
	Apiaries  []choice
	Spare     []spareLine
	Today     string
	Next      *visitLine
	Again     *hiveAgain // nil where no form was refused
}

// boxPanel is one box with why it is due and the forms that change it.
type boxPanel struct {
	boxView
	Why      string
	Sure     string // how far that can be trusted
	SetUp    string
	Repaired []string
	Moved    []boxOrder // the order of boxes after one step up or down
}

// boxOrder is an order of box ids, from the bottom up.
type boxOrder struct {
	Label string
	Order []int64
}

type choiceName struct{ Value, Name string }

type spareLine struct {
	ID          int64
	Name, Where string
}

// openingLine is one opening in the history.
type openingLine struct {
	On, ISO  string
	Box      string
	Word     string
	Degree   int
	Lines    []string
	Findings []gapLine
	By       string
	Path     string // of the form that corrects it
	Changed  bool   // it corrects an earlier one
	Photos   photosView
}

// historyLines is how many openings of a hive one page shows.
const historyLines = 40

// showHive shows the page of a hive, where a form was refused with that as it
// was filled in.
func (s *Server) showHive(w http.ResponseWriter, r *http.Request, who *visitor, status int, again *hiveAgain) error {
	var others store.Others
	p, h, err := s.hiveRecords(r, who, func(tx *store.Tx, p *apiaryRecords) (err error) {
		if who.mayTend(p.apiary) {
			tx.Last()
			others, err = tx.Others(r.Context(), p.apiary.ID, 200)
		}
		return err
	})
	if err != nil {
		return err
	}
	page := p.hiveView(h, who)
	page.Hives, page.Again = others.Hives, again
	for _, b := range others.Spare {
		page.Spare = append(page.Spare, spareLine{b.ID, b.Name, p.spareWhere(&b)})
	}
	for _, a := range others.Apiaries {
		if who.Role == scheduler.Organiser {
			page.Apiaries = append(page.Apiaries, choice{ID: a.ID, Name: a.Name})
		}
	}
	return s.showTo(w, r, who, p.club, status, "hive", h.Name, page)
}

func (p *apiaryRecords) spareWhere(b *store.SpareBox) string {
	switch kind := text.Kind(b.Kind); {
	case b.Where != scheduler.Lent:
		return p.say.Say("page.apiaries.in-store", kind)
	case b.LentTo == "":
		return p.say.Say("page.apiaries.lent", kind)
	default:
		return p.say.Say("page.apiaries.lent-to", kind, b.LentTo)
	}
}

func (p *apiaryRecords) hiveView(h *scheduler.Hive, who *visitor) hiveView {
	v := hiveView{
		ID: h.ID, Name: h.Name, ApiaryID: p.apiary.ID, Apiary: p.apiary.Name, BeeSpace: h.BeeSpace,
		Stack: p.stack(h, nil, p.today), Chance: p.oddsChart(h), MayTend: who.mayTend(p.apiary), Today: p.today.String(),
	}
	if h.RetiredOn != 0 {
		v.Retired = p.say.PlainDay(h.RetiredOn)
	}
	for i := range p.plan.Visits {
		if visit := &p.plan.Visits[i]; opens(visit, h) {
			next := p.visitLine(visit, who.MemberID)
			v.Next = &next
			break
		}
	}
	for i := len(h.Boxes) - 1; i >= 0; i-- {
		v.Boxes = append(v.Boxes, p.boxPanel(h, i))
	}
	v.history(p, h, who)
	for i, period := range h.LeaveAlone {
		v.LeaveDays = append(v.LeaveDays, p.periodLine(i, period))
	}
	for _, d := range h.Requeened {
		v.Requeened = append(v.Requeened, p.say.PlainDay(d))
	}
	v.Kinds = p.kinds()
	return v
}

func (p *apiaryRecords) boxPanel(h *scheduler.Hive, i int) boxPanel {
	b := &h.Boxes[i]
	x := boxPanel{boxView: p.boxView(b), SetUp: p.say.PlainDay(b.SetUpOn)}
	if s := p.states[b.ID]; s != nil {
		why := scheduler.ExplainBox(p.club, p.plan, s)
		x.Why, x.Sure = sentence(below(p.say.Tell(why.Text()), b.Name)), p.say.Tell(why.Sure())
	}
	for _, d := range b.Repaired {
		x.Repaired = append(x.Repaired, p.say.PlainDay(d))
	}
	order := func(j int) []int64 {
		var ids []int64
		for k := range h.Boxes {
			ids = append(ids, h.Boxes[k].ID)
		}
		ids[i], ids[j] = ids[j], ids[i]
		return ids
	}
	if i+1 < len(h.Boxes) {
		x.Moved = append(x.Moved, boxOrder{p.say.Say("page.hive.up"), order(i + 1)})
	}
	if i > 0 {
		x.Moved = append(x.Moved, boxOrder{p.say.Say("page.hive.down"), order(i - 1)})
	}
	return x
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
		for _, t := range advice.GapTrends(b, p.today) {
			if t.StandsOut {
				at, trend := text.New("page.found.at", b.Name, t.At), "trend.widening"
				if t.MMPerYear < 0 {
					trend = "trend.narrowing"
				}
				v.Trends = append(v.Trends, sentence(p.say.Say(trend, at, text.Length(max(t.MMPerYear, -t.MMPerYear)))))
			}
		}
	}
	slices.SortStableFunc(all, func(a, b of) int {
		if a.o.On != b.o.On {
			return int(b.o.On - a.o.On)
		}
		return b.at - a.at
	})
	v.More = max(len(all)-historyLines, 0)
	for _, x := range all[:min(len(all), historyLines)] {
		rec := recorder{base: "/hive/" + itoa(h.ID) + "/record", on: x.o.On}
		word := p.say.Tell(x.o.HowHard())
		if x.o.LeftShut {
			word = p.say.Say("page.hive.left-shut")
		}
		v.History = append(v.History, openingLine{
			On: p.say.PlainDay(x.o.On), ISO: x.o.On.String(), Box: x.box.Name, Word: word, Degree: int(x.o.Difficulty()),
			Lines: p.openingLines(&x.o), Findings: p.findings(h, x.box, &x.o), By: p.names.Member(x.o.By),
			Path: rec.address(0) + "#box-" + itoa(x.box.ID), Changed: x.o.Supersedes != "",
			Photos: p.photosView(x.box, &x.o, who),
		})
	}
}
