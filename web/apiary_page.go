package web

import (
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/store"
)

// apiaryView is one apiary.
type apiaryView struct {
	ID         int64
	Name       string
	Keepers    string
	Access     string
	Still      string
	Visits     []visitLine
	Stacks     []stackView
	Retired    []stackView
	Year       yearStrip
	Season     seasonView
	MayTend    bool
	Leads      bool
	Fields     apiaryFields
	Roles      []roleChoice
	NoGo       []periodLine
	Standstill []periodLine
	Today      string
}

// roleChoice is one of those who look after an apiary.
type roleChoice struct {
	Label   string // key of a text
	Members []choice
}

// keeperRoles name the places in an apiary's list of keepers, by their keys.
var keeperRoles = []string{"page.apiary.lead", "page.apiary.helper", "page.apiary.keyholder", "page.apiary.also"}

// seasonView says where the dates of an apiary's season come from.
type seasonView struct {
	Source  string
	ByTable bool // some dates are those of a region
	Stages  []stageLine
}

type stageLine struct {
	Class, Name, Starts, Open, Asks string
	Now                             bool
}

func (s *Server) apiaryAndOpenings(r *http.Request, who *visitor) (p *apiaryRecords, opened []scheduler.Date, err error) {
	id := parseID(r.PathValue("id"))
	err = s.inAnyClub(r.Context(), who, func(tx *store.Tx) error {
		tx.Last()
		a, err := tx.RecordsAround(r.Context(), id)
		if err == nil {
			p = s.apiaryRecords(a, who)
			opened = p.openedSince(p.today - 200)
		}
		return err
	})
	return p, opened, err
}

// openedSince lists the days since one on which boxes were opened that stand
// at the apiary now.
func (p *apiaryRecords) openedSince(day scheduler.Date) []scheduler.Date {
	var days []scheduler.Date
	for i := range p.apiary.Hives {
		for j := range p.apiary.Hives[i].Boxes {
			for _, o := range scheduler.Effective(p.apiary.Hives[i].Boxes[j].Openings) {
				if o.On >= day {
					days = append(days, o.On)
				}
			}
		}
	}
	slices.Sort(days)
	return slices.Compact(days)
}

func (s *Server) apiary(w http.ResponseWriter, r *http.Request, who *visitor) error {
	p, opened, err := s.apiaryAndOpenings(r, who)
	if err != nil {
		return err
	}
	return s.showTo(w, r, who, p.club, http.StatusOK, "apiary", p.apiary.Name, p.apiaryView(opened, who))
}

func (p *apiaryRecords) apiaryView(opened []scheduler.Date, who *visitor) apiaryView {
	a := p.apiary
	v := apiaryView{
		ID: a.ID, Name: a.Name, Keepers: p.say.List(p.people(a.Keepers)), Access: a.AccessNotes,
		Year: p.newYearStrip(opened, p.plan.Visits), Season: p.seasonView(), MayTend: who.mayTend(a), Leads: who.Role == scheduler.Organiser,
		Fields: newApiaryFields(a, p.say), Today: p.today.String(),
	}
	v.Fields.Place.Near = nearText(p.club.Apiaries)
	for i := range p.plan.Visits {
		if len(v.Visits) < 12 {
			x := &p.plan.Visits[i]
			line := p.lineWithWhy(x, scheduler.ListVisit(p.club, x), who)
			if x.Status == scheduler.Tentative && len(x.Who) > 0 && !x.LacksPeople(p.today) {
				line.Goes = "" // the keepers, who stand above
			}
			v.Visits = append(v.Visits, line)
		}
	}
	for i := range a.Hives {
		h := &a.Hives[i]
		st := p.stack(h, nil, p.today)
		if h.RetiredOn != 0 {
			v.Retired = append(v.Retired, st)
		} else {
			v.Stacks = append(v.Stacks, st)
		}
	}
	for i, period := range a.NoGo {
		v.NoGo = append(v.NoGo, p.periodLine(i, period))
	}
	for i, period := range a.Standstill {
		v.Standstill = append(v.Standstill, p.periodLine(i, period))
		if period.Contains(p.today) {
			v.Still = p.period(period)
		}
	}
	for i, label := range keeperRoles {
		role := roleChoice{Label: label}
		for _, m := range p.club.Members {
			role.Members = append(role.Members, choice{m.ID, m.Name, i < len(a.Keepers) && a.Keepers[i] == m.ID})
		}
		v.Roles = append(v.Roles, role)
	}
	return v
}

// kinds lists the kinds of box to choose from.
func (p *apiaryRecords) kinds() []choiceName {
	var out []choiceName
	seen := map[string]bool{}
	for _, list := range [][]scheduler.BoxKind{scheduler.BuiltinKinds, p.club.Kinds} {
		for _, k := range list {
			if !seen[k.Name] {
				out = append(out, choiceName{k.Name, p.say.Kind(k.Name)})
			}
			seen[k.Name] = true
		}
	}
	return out
}

func (p *apiaryRecords) seasonView() seasonView {
	v := seasonView{Source: sentence(p.say.Tell(p.season.Source().Text())), ByTable: p.newRegionChoice("") != nil}
	now := p.season.Stage(p.today)
	year := p.today.Year()
	// The bees' year that today lies in began at the last build-up.
	if start := p.season.Starts(year)[scheduler.BuildUp]; start != 0 && start > p.today {
		year--
	}
	for stage, start := range p.season.Starts(year) {
		st := scheduler.Stage(stage)
		if start == 0 {
			continue
		}
		rule := p.club.Rules.Stages[st]
		v.Stages = append(v.Stages, stageLine{
			Class: "st-" + st.String(), Name: p.say.Word(st), Starts: p.say.PlainDay(start), Open: p.mayOpen(rule), Asks: p.askedBy(rule), Now: st == now,
		})
	}
	return v
}
