package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/web/coordinates"
)

// apiariesView lists the apiaries of the club.
type apiariesView struct {
	Mine, Others []apiaryLine
	Leads        bool
	Spare        []spareLine
}

type apiaryLine struct {
	ID      int64
	Name    string
	Keepers string
	Text    string
	Next    string
	Late    string
	Still   string
}

func (s *Server) apiaries(w http.ResponseWriter, r *http.Request, who *visitor) error {
	var club *scheduler.Club
	var counts []store.ApiaryCount
	var visits []store.VisitRecord
	var spare []store.SpareBox
	var today scheduler.Date
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) error {
		all, err := tx.Overview(r.Context(), s.earliest())
		if err != nil {
			return err
		}
		club, counts = all.Club, all.Counts
		today = club.Today(s.now())
		visits = since(all.Visits, today)
		tx.Last()
		spare, err = tx.SpareBoxes(r.Context())
		return err
	})
	if err != nil {
		return err
	}
	page := apiariesView{Leads: who.Role == scheduler.Organiser}
	p := &apiaryRecords{club: club, names: scheduler.NewNames(club), say: speaker(club, who.MemberID), today: today}
	next := map[int64]scheduler.Date{}
	for _, v := range visits {
		if next[v.ApiaryID] == 0 {
			next[v.ApiaryID] = v.On
		}
	}
	for i := range club.Apiaries {
		a := &club.Apiaries[i]
		line := p.apiaryLine(a, counts, next[a.ID])
		if slices.Contains(a.Keepers, who.MemberID) {
			page.Mine = append(page.Mine, line)
		} else {
			page.Others = append(page.Others, line)
		}
	}
	page.Spare = p.spareLines(spare)
	return s.showTo(w, r, who, club, http.StatusOK, "apiaries", p.say.Say("page.menu.apiaries"), page)
}

func (p *apiaryRecords) apiaryLine(a *scheduler.Apiary, counts []store.ApiaryCount, next scheduler.Date) apiaryLine {
	line := apiaryLine{ID: a.ID, Name: a.Name, Keepers: p.say.List(p.people(a.Keepers)), Next: p.say.Say("page.apiaries.no-visit")}
	if next != 0 {
		line.Next = p.say.Say("page.apiaries.next", text.Short(next))
	}
	for _, c := range counts {
		if c.ID != a.ID {
			continue
		}
		line.Text = p.say.Say("page.apiaries.holds", text.New("command.import.hives", c.Hives), text.New("command.boxes", c.Boxes))
		if c.Overdue > 0 {
			line.Late = p.say.Say("page.apiaries.overdue", c.Overdue)
		}
	}
	for _, period := range a.Standstill {
		if period.Contains(p.today) {
			line.Still = p.say.Say("page.apiaries.standstill", p.period(period))
		}
	}
	return line
}

// apiaryFields are what a form says of an apiary, as typed.
type apiaryFields struct {
	Name, Latitude, Longitude, Elevation, Zone, Travel, Trip, Shift, Access string
	Weekdays                                                                []choice
	Place                                                                   placeChoice
	Problems                                                                map[string]text.Text
}

func newApiaryFields(a *scheduler.Apiary, say *text.Speaker) apiaryFields {
	number := func(v float64) string { return say.Number(v, -1) } // as many decimals as it has
	f := apiaryFields{
		Name: a.Name, Zone: a.Timezone, Trip: a.Trip, Access: a.AccessNotes, Shift: fmt.Sprint(a.SeasonShiftDays), Problems: map[string]text.Text{},
		Latitude: number(a.Latitude), Longitude: number(a.Longitude), Elevation: number(a.ElevationM),
	}
	if a.TravelHours != nil {
		f.Travel = number(*a.TravelHours)
	}
	weekdays := say.Weekdays()
	for i := range 7 {
		d := (i + 1) % 7 // from Monday
		f.Weekdays = append(f.Weekdays, choice{int64(d), weekdays[d], a.Weekdays != 0 && a.Weekdays&(1<<d) != 0})
	}
	return f
}

// readApiary reads the fields of an apiary's form into a.
func readApiary(f *form, a *scheduler.Apiary) {
	a.Name = f.name("name", 80)
	a.Latitude = f.coordinate("latitude", coordinates.Latitude, 90)
	a.Longitude = f.coordinate("longitude", coordinates.Longitude, 180)
	a.ElevationM = f.number("elevation_m", -430, 6000)
	a.Timezone = zone(f, "timezone", false)
	if !f.Problems["place"].IsZero() { // which says it all
		for _, field := range []string{"latitude", "longitude", "elevation_m", "timezone"} {
			delete(f.Problems, field)
		}
	}
	a.AccessNotes = f.text("access_notes", 2000)
	a.Trip = strings.Join(strings.Fields(f.text("trip", 80)), " ")
	a.TravelHours = nil
	if f.has("travel_hours") {
		h := f.number("travel_hours", 0, 24)
		a.TravelHours = &h
	}
	if f.has("season_shift_days") {
		a.SeasonShiftDays = f.whole("season_shift_days", -90, 90)
	}
	a.Weekdays = 0
	for _, d := range f.values["weekday"] {
		if len(d) == 1 && d[0] >= '0' && d[0] <= '6' {
			a.Weekdays |= 1 << (d[0] - '0')
		}
	}
}

// echoApiary shows a form as it was typed, or filled in.
func (f *form) echoApiary(a *scheduler.Apiary, say *text.Speaker) apiaryFields {
	out := newApiaryFields(a, say)
	out.Problems = f.Problems
	for field, to := range map[string]*string{
		"name": &out.Name, "latitude": &out.Latitude, "longitude": &out.Longitude, "elevation_m": &out.Elevation, "timezone": &out.Zone,
		"travel_hours": &out.Travel, "trip": &out.Trip, "season_shift_days": &out.Shift, "access_notes": &out.Access,
	} {
		*to = f.values.Get(field)
	}
	return out
}

// newApiaryView is the form of a new apiary.
type newApiaryView struct{ Fields apiaryFields }

func (s *Server) newApiary(w http.ResponseWriter, r *http.Request, who *visitor) error {
	club, _, err := s.ownRecord(r, who)
	if err != nil {
		return err
	}
	say := speaker(club, who.MemberID)
	fields := newApiaryFields(&scheduler.Apiary{}, say)
	fields.Latitude, fields.Longitude, fields.Elevation, fields.Shift = "", "", "", ""
	fields.Place.Map, fields.Place.Near = spotFor(&form{}, club.Apiaries, true), nearClub(r, club, who)
	return s.showTo(w, r, who, club, http.StatusOK, "apiary-new", say.Say("page.apiary.new"), newApiaryView{fields})
}

func (s *Server) addApiary(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	club, _, err := s.ownRecord(r, who)
	if err != nil {
		return err
	}
	say := speaker(club, who.MemberID)
	a := scheduler.Apiary{Keepers: []int64{who.MemberID}}
	show := func(status int, place placeChoice) error {
		fields := f.echoApiary(&a, say)
		fields.Place = place
		fields.Place.Map = spotFor(f, club.Apiaries, true)
		return s.showTo(w, r, who, club, status, "apiary-new", say.Say("page.apiary.new"), newApiaryView{fields})
	}
	place, ask, err := readPlace(f, nearClub(r, club, who), say)
	if err != nil {
		return err
	}
	if ask {
		return show(f.status(), place)
	}
	readApiary(f, &a)
	if club.ApiaryNamed(a.Name) != nil {
		f.bad("name", "form.name-taken")
	}
	if !f.ok() {
		return show(http.StatusUnprocessableEntity, place)
	}
	var id int64
	err = s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if id, err = tx.AddApiary(r.Context(), a); err != nil {
			return err
		}
		return tx.Audit(r.Context(), store.AuditEntry{MemberID: who.MemberID, Action: "add apiary", Subject: a.Name})
	})
	if err != nil {
		return err
	}
	return s.done(w, r, fmt.Sprintf("/apiary/%d/hives", id), notice{Text: say.Say("page.apiary.said-added", a.Name)})
}
