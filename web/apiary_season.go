package web

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// seasonPage is the bees' year at one apiary, and what would move it.
type seasonPage struct {
	ID       int64
	Name     string
	Place    string // latitude and height in words
	Source   string
	Years    [2]int
	Stages   []stageYear
	OneStage bool // seasons follow rain here
	Year     yearStrip
	Shift    int
	Own      text.Text // the club's own dates, and where they were seen
	Events   []eventField
	Typed    string // the shift as it was typed
	MayTend  bool
	Leads    bool
	Today    string
	Looked   *seasonLook
	Problems map[string]text.Text
}

// stageYear is one stage in this year and the next.
type stageYear struct {
	Class, Name string
	Starts      [2]string
	ISO         [2]string
	Then        [2]string // under the shift being looked at, where it differs
	Open        string
	Asks        string
	Now         bool
}

// eventField is one thing that keepers see, and the day they saw it on.
type eventField struct {
	Value, Day   string
	Saw, Learned string // keys of texts
}

// seasonLook is what another shift would change.
type seasonLook struct {
	Shift   int
	Words   string
	Learned []string // what each observed day says
	Changes []string // the visits that would move
	Same    bool
}

// shiftLimit is how many days a season may be moved by hand.
const shiftLimit = 90

func (s *Server) season(w http.ResponseWriter, r *http.Request, who *visitor) error {
	p, opened, err := s.apiaryAndOpenings(r, who)
	if err != nil {
		return err
	}
	return s.showTo(w, r, who, p.club, http.StatusOK, "season", p.say.Say("page.season.title", p.apiary.Name), p.seasonPage(opened, who))
}

func (p *apiaryRecords) seasonPage(opened []scheduler.Date, who *visitor) *seasonPage {
	a := p.apiary
	v := &seasonPage{
		ID: a.ID, Name: a.Name, Source: sentence(p.say.Tell(p.season.Source().Text())), Year: p.newYearStrip(opened, p.plan.Visits),
		Shift: a.SeasonShiftDays, Typed: fmt.Sprint(a.SeasonShiftDays), MayTend: who.mayTend(a), Leads: who.Role == scheduler.Organiser,
		Today: p.today.String(), OneStage: p.season.Source().From == scheduler.FromTropics,
	}
	height := int(math.Round(a.ElevationM))
	v.Place = p.say.Say("page.season.place-north", text.Number{Value: a.Latitude, Decimals: 2}, height)
	if a.Latitude < 0 {
		v.Place = p.say.Say("page.season.place-south", text.Number{Value: -a.Latitude, Decimals: 2}, height)
	}
	v.Events = slices.Clone(seasonEvents)
	v.Own = p.ownDates()
	v.stages(p)
	return v
}

// ownDates says the dates that the club entered, and where they were seen; the
// zero Text for none.
func (p *apiaryRecords) ownDates() text.Text {
	var dates []text.Text
	year := p.today.Year()
	terse := p.say.Terse(year) // a day of each year has no year
	for st := range scheduler.Stage(scheduler.NumStages) {
		if own := p.club.Rules.Stages[st].Starts; !own.IsZero() {
			dates = append(dates, text.New("page.season.own-date", st, terse.PlainDay(own.In(year))))
		}
	}
	switch h := p.club.Rules.Home; {
	case dates == nil:
		return text.Text{}
	case h == nil:
		return text.New("page.season.own", dates)
	default:
		return text.New("page.season.own-seen", dates, text.Number{Value: h.Latitude, Decimals: 1}, int(math.Round(h.ElevationM)))
	}
}

// firstYear is the year in which the bees' year that today lies in began.
func (p *apiaryRecords) firstYear() int {
	year := p.today.Year()
	for _, start := range p.season.Starts(year) {
		if start != 0 {
			if start > p.today {
				year--
			}
			break
		}
	}
	return year
}

func (v *seasonPage) stages(p *apiaryRecords) {
	year := p.firstYear()
	v.Years = [2]int{year, year + 1}
	now := p.season.Stage(p.today)
	for st := range scheduler.Stage(scheduler.NumStages) {
		rule := p.club.Rules.Stages[st]
		line := stageYear{Class: "st-" + st.String(), Name: p.say.Word(st), Open: p.mayOpen(rule), Asks: p.askedBy(rule), Now: st == now}
		for i, y := range v.Years {
			if start := p.season.Starts(y)[st]; start != 0 {
				line.Starts[i], line.ISO[i] = p.say.PlainDay(start), start.String()
			}
		}
		if line.Starts[0] == "" {
			continue
		}
		v.Stages = append(v.Stages, line)
	}
}

// mayOpen says whether boxes may be opened in a stage.
func (p *apiaryRecords) mayOpen(rule scheduler.StageRule) string {
	if rule.Open {
		return p.say.Say("page.season.may-open")
	}
	return p.say.Say("page.season.shut")
}

// askedBy says what a stage asks for; nothing for nothing.
func (p *apiaryRecords) askedBy(rule scheduler.StageRule) string {
	switch rule.Required {
	case scheduler.OpeningRequired:
		return p.say.Say("page.season.each-once")
	case scheduler.VisitRequired:
		return p.say.Say("page.season.one-visit")
	}
	return ""
}

// changeSeason moves the season of an apiary, by days typed or by days
// observed; it shows what that changes before anything is saved.
func (s *Server) changeSeason(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	p, opened, err := s.apiaryAndOpenings(r, who)
	if err != nil {
		return err
	}
	if !who.mayTend(p.apiary) {
		return errNotYours
	}
	v := p.seasonPage(opened, who)
	v.Problems = f.Problems
	var shift int
	if f.values.Get("by") == "seen" {
		if shift, v.Looked, err = p.learn(f, v); err != nil {
			return err
		}
	} else {
		shift, v.Typed = f.whole("season_shift_days", -shiftLimit, shiftLimit), f.values.Get("season_shift_days")
		v.Looked = &seasonLook{}
	}
	title := p.say.Say("page.season.title", p.apiary.Name)
	if !f.ok() {
		v.Looked = nil
		return s.showTo(w, r, who, p.club, http.StatusUnprocessableEntity, "season", title, v)
	}
	save := f.values.Get("do") == "save"
	if save {
		if seen := f.values.Get("was"); seen != "" && seen != fmt.Sprint(p.apiary.SeasonShiftDays) {
			return newProblem(http.StatusConflict, "problem.season-changed")
		}
	}
	made, err := s.shiftSeason(r, who, p, shift, save)
	if err != nil {
		return err
	}
	if !save {
		v.look(p, shift, made)
		return s.showTo(w, r, who, p.club, http.StatusOK, "season", title, v)
	}
	return s.done(w, r, fmt.Sprintf("/apiary/%d/season", p.apiary.ID), notice{
		Text: p.say.Say("page.season.said", p.apiary.Name, shiftText(shift)), Lines: p.consequences(made, 0),
		Undo: &undo{Label: p.say.Say("page.visit.said.take-back"), Action: fmt.Sprintf("/apiary/%d/season", p.apiary.ID), Fields: [][2]string{
			{"season_shift_days", fmt.Sprint(p.apiary.SeasonShiftDays)}, {"was", fmt.Sprint(shift)}, {"do", "save"},
		}},
	})
}

// learn works out the shift from the days of the form.
func (p *apiaryRecords) learn(f *form, v *seasonPage) (int, *seasonLook, error) {
	var seen []scheduler.SeasonDay
	look := &seasonLook{}
	plain := p.apiary.Place()
	for i := range v.Events {
		e := &v.Events[i]
		e.Day = f.values.Get(e.Value)
		on := f.pastDate(e.Value, p.today)
		if on == 0 {
			continue
		}
		day := scheduler.SeasonDay{Event: scheduler.SeasonEvent(e.Value), On: on}
		alone, err := scheduler.LearnShift(plain, &p.club.Rules, []scheduler.SeasonDay{day})
		var unfit *scheduler.UnfitDay
		switch {
		case errors.As(err, &unfit):
			f.bad(e.Value, "form.said", sentence(p.say.Tell(unfit.Text())))
			continue
		case err != nil:
			return 0, nil, err
		}
		seen = append(seen, day)
		look.Learned = append(look.Learned, p.say.Say(e.Learned, on, shiftText(alone)))
	}
	if len(seen) == 0 {
		f.bad("seen", "form.one-day")
		return 0, nil, nil
	}
	shift, err := scheduler.LearnShift(plain, &p.club.Rules, seen)
	return shift, look, err
}

// look says what a shift would change.
func (v *seasonPage) look(p *apiaryRecords, shift int, made *store.Replanned) {
	v.Looked.Shift, v.Looked.Words, v.Looked.Same = shift, p.say.Tell(shiftText(shift)), shift == p.apiary.SeasonShiftDays
	at := p.apiary.Place()
	at.ShiftDays = shift
	then := scheduler.NewSeason(at, &p.club.Rules)
	byClass := map[string]scheduler.Stage{}
	for st := range scheduler.Stage(scheduler.NumStages) {
		byClass["st-"+st.String()] = st
	}
	for i := range v.Stages {
		line := &v.Stages[i]
		for k, y := range v.Years {
			if start := then.Starts(y)[byClass[line.Class]]; start != 0 && start.String() != line.ISO[k] {
				line.Then[k] = p.say.PlainDay(start)
			}
		}
	}
	v.Looked.Changes = p.consequences(made, 0)
}

// errLooked ends a transaction that was only tried out.
var errLooked = errors.New("only looked")

// shiftSeason plans with another shift, and keeps it when asked to.
func (s *Server) shiftSeason(r *http.Request, who *visitor, p *apiaryRecords, shift int, save bool) (*store.Replanned, error) {
	var made *store.Replanned
	err := s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		a := *p.apiary
		a.SeasonShiftDays = shift
		if made, err = tx.UpdateApiary(r.Context(), a, p.today); err != nil {
			return err
		}
		if !save {
			return errLooked
		}
		tx.Knows(who.MemberID, scheduler.Visit{}, made, p.today)
		return who.note(r, tx, "move season", text.New("form.named", a.Name, shiftText(shift)))
	})
	if errors.Is(err, errLooked) {
		err = nil
	}
	return made, err
}

// seasonEvents are what keepers see when a stage begins.
var seasonEvents = []eventField{
	{Value: string(scheduler.FirstPollen), Saw: "page.season.saw-first-pollen", Learned: "page.season.learned-first-pollen"},
	{Value: string(scheduler.SupersOn), Saw: "page.season.saw-supers-on", Learned: "page.season.learned-supers-on"},
	{Value: string(scheduler.SupersOff), Saw: "page.season.saw-supers-off", Learned: "page.season.learned-supers-off"},
}

// shiftText says by how much a season is moved.
func shiftText(days int) text.Text {
	switch {
	case days > 0:
		return text.New("page.season.later", days)
	case days < 0:
		return text.New("page.season.earlier", -days)
	}
	return text.New("page.season.plain")
}
