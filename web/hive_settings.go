package web

import (
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// hiveSettings is what can be changed about a hive and its boxes.
type hiveSettings struct {
	ID        int64
	Name      string
	ApiaryID  int64
	Apiary    string
	Retired   bool
	BeeSpace  scheduler.BeeSpace
	Stack     stackView
	Boxes     []boxPanel
	LeaveDays []periodLine
	Kinds     []choiceName
	Hives     []store.HiveName // where boxes can go
	Spare     []spareLine
	Today     string
	Again     *hiveAgain // nil where no form was refused
}

// boxPanel is one box with the forms that change it.
type boxPanel struct {
	ID         int64
	Name, Kind string
	SetUp      string
	Repaired   []string
	Moved      []boxOrder // the order of boxes after one step up or down
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

func settingsPath(hive int64) string { return "/hive/" + itoa(hive) + "/change" }

func (s *Server) hiveSettings(w http.ResponseWriter, r *http.Request, who *visitor) error {
	return s.showSettings(w, r, who, http.StatusOK, nil)
}

// showSettings shows what can be changed, where a form was refused with that as
// it was filled in.
func (s *Server) showSettings(w http.ResponseWriter, r *http.Request, who *visitor, status int, again *hiveAgain) error {
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
	if !who.mayTend(p.apiary) {
		return errNotYours
	}
	page := p.hiveSettings(h)
	page.Hives, page.Again = others.Hives, again
	page.Spare = p.spareLines(others.Spare)
	return s.showTo(w, r, who, p.club, status, "hive-change", p.say.Say("page.hive.change-title", text.Hive(h.Name)), page)
}

// spareLines are boxes on no hive, by their marks.
func (p *apiaryRecords) spareLines(spare []store.SpareBox) []spareLine {
	var lines []spareLine
	for _, b := range spare {
		lines = append(lines, spareLine{b.ID, b.Name, p.spareWhere(&b)})
	}
	byName := p.say.ByName()
	slices.SortStableFunc(lines, func(a, b spareLine) int { return byName(a.Name, b.Name) })
	return lines
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

func (p *apiaryRecords) hiveSettings(h *scheduler.Hive) hiveSettings {
	v := hiveSettings{
		ID: h.ID, Name: h.Name, ApiaryID: p.apiary.ID, Apiary: p.apiary.Name, BeeSpace: h.BeeSpace, Retired: h.RetiredOn != 0,
		Stack: p.stack(h, nil, p.today), Kinds: p.kinds(), Today: p.today.String(),
	}
	for i := len(h.Boxes) - 1; i >= 0; i-- {
		v.Boxes = append(v.Boxes, p.boxPanel(h, i))
	}
	for i, period := range h.LeaveAlone {
		v.LeaveDays = append(v.LeaveDays, p.periodLine(i, period))
	}
	return v
}

func (p *apiaryRecords) boxPanel(h *scheduler.Hive, i int) boxPanel {
	b := &h.Boxes[i]
	x := boxPanel{ID: b.ID, Name: b.Name, Kind: p.say.Kind(b.Kind), SetUp: p.say.Tell(b.SetUp())}
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
