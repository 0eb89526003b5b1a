package web

import (
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/web/gazetteer"
)

// mapState is how an apiary stands, with a sign that needs no colour.
type mapState struct {
	Class, Sign string
	Name        string // the key of its words
	rank        int    // the first has its name first
}

// mapStates are all there are, the most pressing first.
var mapStates = []mapState{
	{"due", "!", "page.map.due", 0},
	{"nobody", "?", "page.map.nobody", 1},
	{"still", "=", "page.map.still", 2},
	{"fine", "·", "page.map.fine", 3},
}

// How many days ahead a visit counts: one that nobody goes to, and any.
const (
	mapSoon     = 28
	mapThisWeek = 7
)

type mapView struct {
	Map    *apiaryMap // nil without apiaries
	States []mapState
	Rows   []mapRow
	Leads  bool
	Places int
}

// mapRow says in words what a dot shows.
type mapRow struct {
	ID    int64
	Name  string
	State mapState
	Says  string
	Next  string
}

func (s *Server) apiariesMap(w http.ResponseWriter, r *http.Request, who *visitor) error {
	var all *store.Overview
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		tx.Last()
		all, err = tx.Overview(r.Context(), s.earliest())
		return err
	})
	if err != nil {
		return err
	}
	g, err := gazetteer.Shipped()
	if err != nil {
		return err
	}
	club := all.Club
	p := &apiaryRecords{club: club, names: scheduler.NewNames(club), say: speaker(club, who.MemberID), today: club.Today(s.now())}
	page := mapView{States: mapStates, Leads: who.Role == scheduler.Organiser}
	if len(club.Apiaries) > 0 {
		visits := since(all.Visits, p.today)
		describe := func(a *scheduler.Apiary) (mapState, string) {
			row := p.mapRow(a, all.Counts, visits)
			page.Rows = append(page.Rows, row)
			return row.State, row.Says
		}
		if page.Map, err = drawMap(club.Apiaries, g, describe); err != nil {
			return err
		}
	}
	page.Places = len(page.Rows)
	return s.showTo(w, r, who, club, http.StatusOK, "map", p.say.Say("page.map.title"), page)
}

// mapRow says how an apiary stands.
func (p *apiaryRecords) mapRow(a *scheduler.Apiary, counts []store.ApiaryCount, visits []store.VisitRecord) mapRow {
	row := mapRow{ID: a.ID, Name: a.Name, State: mapStates[3], Next: p.say.Say("page.apiaries.no-visit")}
	row.Says = p.say.Say(row.State.Name)
	i := slices.IndexFunc(visits, func(v store.VisitRecord) bool { return v.ApiaryID == a.ID && v.Status.Open() })
	if i >= 0 {
		row.Next = p.say.Say("page.apiaries.next", text.Short(visits[i].On))
		switch v := &visits[i]; {
		case len(v.Who) == 0 && v.On <= p.today+mapSoon:
			row.State, row.Says = mapStates[1], p.say.Say(mapStates[1].Name)
		case v.On <= p.today+mapThisWeek:
			row.State, row.Says = mapStates[0], row.Next
		}
	}
	for _, c := range counts {
		if c.ID == a.ID && c.Overdue > 0 {
			row.State = mapStates[0]
			row.Says = p.say.Say("page.apiaries.overdue", c.Overdue)
		}
	}
	for _, period := range a.Standstill {
		if period.Contains(p.today) {
			row.State = mapStates[2]
			row.Says = p.say.Say("page.apiaries.standstill", p.period(period))
		}
	}
	return row
}
