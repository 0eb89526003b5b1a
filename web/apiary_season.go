package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"

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
	Own      []string // the club's own dates
	Home     string   // where they were seen
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
	Value, Name, Day string
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
	return s.showTo(w, r, who, p.club, http.StatusOK, "season", "The season at "+p.apiary.Name, p.seasonPage(opened, who))
}

func (p *apiaryRecords) seasonPage(opened []scheduler.Date, who *visitor) *seasonPage {
	a := p.apiary
	v := &seasonPage{
		ID: a.ID, Name: a.Name, Source: sentence(p.say.Tell(p.season.Source().Text())), Year: p.newYearStrip(opened, p.plan.Visits),
		Shift: a.SeasonShiftDays, Typed: fmt.Sprint(a.SeasonShiftDays), MayTend: who.mayTend(a), Leads: who.Role == scheduler.Organiser,
		Today: p.today.String(), OneStage: p.season.Source().From == scheduler.FromTropics,
	}
	side := "north"
	if a.Latitude < 0 {
		side = "south"
	}
	v.Place = fmt.Sprintf("%.2f° %s, %.0f m above the sea", max(a.Latitude, -a.Latitude), side, a.ElevationM)
	for _, e := range seasonEvents {
		v.Events = append(v.Events, eventField{Value: e.Value, Name: e.Name})
	}
	for st := range scheduler.Stage(scheduler.NumStages) {
		if own := p.club.Rules.Stages[st].Starts; !own.IsZero() {
			v.Own = append(v.Own, p.say.Word(st)+" on "+own.In(p.today.Year()).Format("2 January"))
		}
	}
	if h := p.club.Rules.Home; h != nil {
		v.Home = fmt.Sprintf("%.1f° of latitude and %.0f m", h.Latitude, h.ElevationM)
	}
	v.stages(p)
	return v
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
		line := stageYear{Class: "st-" + st.String(), Name: p.say.Word(st), Open: "boxes may be opened", Now: st == now}
		for i, y := range v.Years {
			if start := p.season.Starts(y)[st]; start != 0 {
				line.Starts[i], line.ISO[i] = p.say.PlainDay(start), start.String()
			}
		}
		if line.Starts[0] == "" {
			continue
		}
		if !rule.Open {
			line.Open = "boxes stay shut"
		}
		line.Asks = askedBy[rule.Required]
		v.Stages = append(v.Stages, line)
	}
}

var askedBy = map[scheduler.Required]string{
	scheduler.OpeningRequired: "every box opened once",
	scheduler.VisitRequired:   "one visit, even without opening",
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
		shift, v.Looked = p.learn(f, v)
	} else {
		shift, v.Typed = f.whole("season_shift_days", -shiftLimit, shiftLimit), f.values.Get("season_shift_days")
		v.Looked = &seasonLook{}
	}
	title := "The season at " + p.apiary.Name
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
	made, err := s.shiftSeason(r.Context(), who, p, shift, save)
	if err != nil {
		return err
	}
	if !save {
		v.look(p, shift, made)
		return s.showTo(w, r, who, p.club, http.StatusOK, "season", title, v)
	}
	return s.done(w, r, fmt.Sprintf("/apiary/%d/season", p.apiary.ID), notice{
		Text: fmt.Sprintf("The season at %s now comes %s.", p.apiary.Name, shiftWords(shift)), Lines: p.consequences(made, 0),
		Undo: &undo{Label: "Take it back", Action: fmt.Sprintf("/apiary/%d/season", p.apiary.ID), Fields: [][2]string{
			{"season_shift_days", fmt.Sprint(p.apiary.SeasonShiftDays)}, {"was", fmt.Sprint(shift)}, {"do", "save"},
		}},
	})
}

// learn works out the shift from the days of the form.
func (p *apiaryRecords) learn(f *form, v *seasonPage) (int, *seasonLook) {
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
		if err != nil {
			f.bad(e.Value, "form.said", sentence(strings.Replace(err.Error(), e.Value, e.Name, 1)))
			continue
		}
		seen = append(seen, day)
		look.Learned = append(look.Learned, sentence(fmt.Sprintf("%s, %s: the season comes %s", e.Name, p.say.PlainDay(on), shiftWords(alone))))
	}
	if len(seen) == 0 {
		f.bad("seen", "form.one-day")
		return 0, nil
	}
	shift, err := scheduler.LearnShift(plain, &p.club.Rules, seen)
	if err != nil {
		f.bad("seen", "form.said", sentence(err.Error()))
	}
	return shift, look
}

// look says what a shift would change.
func (v *seasonPage) look(p *apiaryRecords, shift int, made *store.Replanned) {
	v.Looked.Shift, v.Looked.Words, v.Looked.Same = shift, shiftWords(shift), shift == p.apiary.SeasonShiftDays
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
func (s *Server) shiftSeason(ctx context.Context, who *visitor, p *apiaryRecords, shift int, save bool) (*store.Replanned, error) {
	var made *store.Replanned
	err := s.cfg.Store.InClub(ctx, who.ClubID, func(tx *store.Tx) (err error) {
		a := *p.apiary
		a.SeasonShiftDays = shift
		if made, err = tx.UpdateApiary(ctx, a, p.today); err != nil {
			return err
		}
		if !save {
			return errLooked
		}
		tx.Knows(who.MemberID, scheduler.Visit{}, made, p.today)
		return tx.Audit(ctx, store.AuditEntry{
			MemberID: who.MemberID, Action: "move season", Subject: fmt.Sprintf("%s: %s", a.Name, shiftWords(shift)),
		})
	})
	if errors.Is(err, errLooked) {
		err = nil
	}
	return made, err
}

// seasonEvents are what keepers see when a stage begins.
var seasonEvents = []choiceName{
	{string(scheduler.FirstPollen), "first good pollen came in"},
	{string(scheduler.SupersOn), "supers went on"},
	{string(scheduler.SupersOff), "supers came off"},
}

// shiftWords says by how much a season is moved.
func shiftWords(days int) string {
	switch {
	case days > 0:
		return count(days, "day", "days") + " later than the rules say"
	case days < 0:
		return count(-days, "day", "days") + " earlier than the rules say"
	}
	return "as the rules say"
}
