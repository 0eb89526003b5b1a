package web

import (
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
	Region   *regionChoice
	Events   []eventField
	Seen     []seenLine
	Near     []string // what neighbouring apiaries saw
	Typed    string   // the shift as it was typed
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

// regionChoice is whose stage dates hold at an apiary, and the others.
type regionChoice struct {
	Where   scheduler.Region // that the coordinates lie in
	Chosen  bool             // another was chosen
	Value   string           // "" where the coordinates decide
	Options []regionOption
	Shift   int
}

type regionOption struct {
	Value, Name string
	Chosen      bool
}

// newRegionChoice returns the choice of a region, with one chosen in the form;
// nil where no date of an apiary rests on a table.
func (p *apiaryRecords) newRegionChoice(chosen scheduler.Region) *regionChoice {
	source := p.season.Source()
	if source.From == scheduler.FromTropics || !slices.Contains(source.Own[:], false) {
		return nil
	}
	a := p.apiary
	v := &regionChoice{Where: scheduler.RegionAt(a.Latitude, a.Longitude), Value: string(a.Region), Shift: a.SeasonShiftDays}
	v.Chosen = a.SeasonRegion() != v.Where
	v.Options = append(v.Options, regionOption{"", p.say.Say("page.season.region-by-place", v.Where), chosen == ""})
	for _, r := range scheduler.Regions {
		v.Options = append(v.Options, regionOption{string(r), p.say.Say("region-where." + string(r)), chosen == r})
	}
	return v
}

// seasonLook is what a change would change.
type seasonLook struct {
	Words   string
	Learned []string    // what each observed day says
	Changes []string    // the visits that would move
	Fields  [][2]string // of the form that saves it
	Shifted text.Text   // the shift that another region's dates would have as well
	Same    bool
}

// shiftLimit is how many days a season may be moved by hand.
const shiftLimit = 90

func (s *Server) season(w http.ResponseWriter, r *http.Request, who *visitor) error {
	p, err := s.seasonRecords(r, who)
	if err != nil {
		return err
	}
	return s.showTo(w, r, who, p.club, http.StatusOK, "season", p.say.Say("page.season.title", p.apiary.Name), p.seasonPage(who))
}

// seasonRecords is what was read for the page of an apiary's season.
type seasonRecords struct {
	*apiaryRecords
	opened    []scheduler.Date
	near      []scheduler.Neighbour
	nearNames map[int64]string // of those neighbours
}

func (s *Server) seasonRecords(r *http.Request, who *visitor) (*seasonRecords, error) {
	id, p := parseID(r.PathValue("id")), &seasonRecords{nearNames: map[int64]string{}}
	err := s.inAnyClub(r.Context(), who, func(tx *store.Tx) error {
		around, err := tx.RecordsAround(r.Context(), id)
		if err != nil {
			return err
		}
		tx.Last()
		seen, err := tx.SeasonSeen(r.Context())
		if err != nil {
			return err
		}
		p.apiaryRecords = s.apiaryRecords(around, who)
		p.opened = p.openedSince(p.today - 200)
		p.near = p.apiary.Neighbours(seen, &p.club.Rules)
		for i := range seen {
			p.nearNames[seen[i].ID] = seen[i].Name
		}
		return nil
	})
	return p, err
}

func (p *seasonRecords) seasonPage(who *visitor) *seasonPage {
	a := p.apiary
	v := &seasonPage{
		ID: a.ID, Name: a.Name, Source: sentence(p.say.Tell(p.season.Source().Text())), Year: p.newYearStrip(p.opened, p.plan.Visits),
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
	v.Region = p.newRegionChoice(a.Region)
	v.Seen, v.Near = p.seenLines(), p.nearLines()
	v.stages(p.apiaryRecords)
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
