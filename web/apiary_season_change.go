package web

import (
	"errors"
	"fmt"
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// seasonChange is a change of an apiary's season that a form asks for: its
// shift, its region, or the days observed.
type seasonChange struct {
	a       scheduler.Apiary // as it would be
	words   text.Text        // what the change comes to
	said    string           // key of what is said of it when it is done
	learned []string         // what each day says
	added   []scheduler.SeasonDay
	fields  [][2]string // of the form that does it
	back    [][2]string // of the form that takes it back
}

// changeSeason changes the season of an apiary; it shows what that changes
// before anything is saved.
func (s *Server) changeSeason(w http.ResponseWriter, r *http.Request, who *visitor) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	p, err := s.seasonRecords(r, who)
	if err != nil {
		return err
	}
	if !who.mayTend(p.apiary) {
		return errNotYours
	}
	v := p.seasonPage(who)
	v.Problems = f.Problems
	c := &seasonChange{a: *p.apiary}
	switch f.values.Get("by") {
	case "seen":
		err = c.learn(p, f, v)
	case "region":
		c.choose(p, f, v)
	default:
		v.Typed = f.values.Get("season_shift_days")
		c.shift(p, f, f.whole("season_shift_days", -shiftLimit, shiftLimit))
	}
	if err != nil {
		return err
	}
	title := p.say.Say("page.season.title", p.apiary.Name)
	if !f.ok() {
		return s.showTo(w, r, who, p.club, http.StatusUnprocessableEntity, "season", title, v)
	}
	save := f.values.Get("do") == "save"
	if save && changedSince(f, p.apiary) {
		return newProblem(http.StatusConflict, "problem.season-changed")
	}
	made, err := s.saveSeason(r, who, p, c, save)
	if err != nil {
		return err
	}
	if !save {
		v.look(p, c, made)
		return s.showTo(w, r, who, p.club, http.StatusOK, "season", title, v)
	}
	here := fmt.Sprintf("/apiary/%d/season", p.apiary.ID)
	return s.done(w, r, here, notice{
		Text: p.say.Say(c.said, p.apiary.Name, c.words), Lines: p.consequences(made, 0),
		Undo: &undo{Label: p.say.Say("page.visit.said.take-back"), Action: here, Fields: append(c.back, [2]string{"do", "save"})},
	})
}

// changedSince reports whether the season is another than the form was made of.
func changedSince(f *form, a *scheduler.Apiary) bool {
	if seen := f.values.Get("was"); seen != "" && seen != fmt.Sprint(a.SeasonShiftDays) {
		return true
	}
	return f.values.Get("by") == "region" && f.values["was-region"] != nil && f.values.Get("was-region") != string(a.Region)
}

// shift moves the season by days, and notes the observed ones that it was
// learnt from.
func (c *seasonChange) shift(p *seasonRecords, f *form, days int) {
	for _, event := range scheduler.SeasonEvents {
		if on := f.pastDate(string(event), p.today); on != 0 {
			c.added = append(c.added, scheduler.SeasonDay{Event: event, On: on})
		}
	}
	var gone []scheduler.SeasonDay
	for _, value := range f.values["forget"] {
		if day, ok := seenOfValue(value); ok && slices.Contains(p.apiary.Seen, day) {
			gone = append(gone, day)
		}
	}
	c.shiftBy(p, days, gone)
	if f.has("forget") && days == p.apiary.SeasonShiftDays {
		c.said = "page.season.said-out" // also where it was out already
	}
}

func (c *seasonChange) shiftBy(p *seasonRecords, days int, gone []scheduler.SeasonDay) {
	was := p.apiary.SeasonShiftDays
	c.a.SeasonShiftDays = days
	c.a.Seen = scheduler.Unsee(scheduler.See(p.apiary.Seen, c.added...), gone...)
	c.words, c.said = shiftText(days), "page.season.said"
	c.fields = [][2]string{{"season_shift_days", fmt.Sprint(days)}, {"was", fmt.Sprint(was)}}
	c.back = [][2]string{{"season_shift_days", fmt.Sprint(was)}, {"was", fmt.Sprint(days)}}
	for _, day := range c.added {
		field := [2]string{string(day.Event), day.On.String()}
		c.fields = append(c.fields, field)
		if !slices.Contains(p.apiary.Seen, day) {
			c.back = append(c.back, [2]string{"forget", seenValue(day)})
		}
	}
	for _, day := range gone {
		c.back = append(c.back, [2]string{string(day.Event), day.On.String()})
	}
}

// learn works out the shift from the days of the form, those of before and
// those of neighbours.
func (c *seasonChange) learn(p *seasonRecords, f *form, v *seasonPage) error {
	place := p.apiary.Place()
	for i := range v.Events {
		e := &v.Events[i]
		e.Day = f.values.Get(e.Value)
		on := f.pastDate(e.Value, p.today)
		if on == 0 {
			continue
		}
		day := scheduler.SeasonDay{Event: scheduler.SeasonEvent(e.Value), On: on}
		alone, err := scheduler.LearnShift(place, &p.club.Rules, []scheduler.SeasonDay{day})
		var unfit *scheduler.UnfitDay
		switch {
		case errors.As(err, &unfit):
			f.bad(e.Value, "form.said", sentence(p.say.Tell(unfit.Text())))
			continue
		case err != nil:
			return err
		}
		c.added = append(c.added, day)
		c.learned = append(c.learned, p.say.Say(e.Learned, on, shiftText(alone)))
	}
	seen := slices.Clone(c.added)
	for i, day := range p.apiary.Seen {
		_, err := scheduler.LearnShift(place, &p.club.Rules, []scheduler.SeasonDay{day})
		if err == nil && !slices.Contains(c.added, day) {
			seen = append(seen, day)
			c.learned = append(c.learned, v.Seen[i].Text)
		}
	}
	c.learned = append(c.learned, v.Near...)
	if len(seen)+len(p.near) == 0 {
		f.bad("seen", "form.one-day")
		return nil
	}
	days, err := scheduler.LearnShift(place, &p.club.Rules, seen, p.near...)
	c.shiftBy(p, max(-shiftLimit, min(shiftLimit, days)), nil)
	return err
}

// choose takes another region's dates.
func (c *seasonChange) choose(p *seasonRecords, f *form, v *seasonPage) {
	region := scheduler.Region(f.values.Get("region"))
	if region != "" && !slices.Contains(scheduler.Regions, region) {
		f.bad("region", "form.no-region", cut(string(region)))
		return
	}
	c.a.Region = region
	if v.Region != nil {
		v.Region = p.newRegionChoice(region)
	}
	c.words, c.said = text.New(c.a.SeasonRegion().WordKey()), "page.season.said-region"
	c.fields = [][2]string{{"by", "region"}, {"region", string(region)}, {"was-region", string(p.apiary.Region)}}
	c.back = [][2]string{{"by", "region"}, {"region", string(p.apiary.Region)}, {"was-region", string(region)}}
}

// byRegion reports whether c is one of region.
func (c *seasonChange) byRegion() bool { return c.said == "page.season.said-region" }

// look says what a change would change.
func (v *seasonPage) look(p *seasonRecords, c *seasonChange, made *store.Replanned) {
	then := scheduler.NewSeason(c.a.Place(), &p.club.Rules)
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
	v.Looked = &seasonLook{Learned: c.learned, Changes: p.consequences(made, 0), Fields: c.fields}
	if c.byRegion() {
		v.Looked.Words = p.say.Say("page.season.dates-for", c.words)
		v.Looked.Same = c.a.Region == p.apiary.Region
		if shift := p.apiary.SeasonShiftDays; shift != 0 && c.a.SeasonRegion() != p.apiary.SeasonRegion() {
			v.Looked.Shifted = shiftText(shift)
		}
		return
	}
	v.Looked.Words = p.say.Tell(c.words)
	v.Looked.Same = c.a.SeasonShiftDays == p.apiary.SeasonShiftDays && slices.Equal(c.a.Seen, p.apiary.Seen)
}

// errLooked ends a transaction that was only tried out.
var errLooked = errors.New("only looked")

// saveSeason plans with a changed season, and keeps it when asked to.
func (s *Server) saveSeason(r *http.Request, who *visitor, p *seasonRecords, c *seasonChange, save bool) (*store.Replanned, error) {
	var made *store.Replanned
	err := s.cfg.Store.InClub(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if made, err = tx.UpdateApiary(r.Context(), c.a, p.today); err != nil {
			return err
		}
		if !save {
			return errLooked
		}
		tx.Knows(who.MemberID, scheduler.Visit{}, made, p.today)
		return who.note(r, tx, "move season", text.New("form.named", c.a.Name, c.words))
	})
	if errors.Is(err, errLooked) {
		err = nil
	}
	return made, err
}
