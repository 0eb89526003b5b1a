package web

import (
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
	"pryday/store"
)

// repairsView is the winter bench's list: what is broken, and what it takes.
type repairsView struct {
	From, Until       string // as fields
	FromDay, UntilDay string
	Parts             []partLine
	Boxes             []repairLine
	Problem           text.Text
}

type partLine struct {
	Part  string
	Count int
	For   []string
}

type repairLine struct {
	BoxID  int64
	Where  string
	Box    string
	Found  []repairFinding
	Photos photosView // of the days on which it was found
}

type repairFinding struct{ On, What, Why, Cure string }

func (s *Server) repairs(w http.ResponseWriter, r *http.Request, who *visitor) error {
	var club *scheduler.Club
	var photos []store.Photo
	var list []advice.Repair
	var parts []advice.PartNeed
	var from, until, today scheduler.Date
	page := repairsView{}
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		if club, err = tx.Club(r.Context()); err != nil {
			return err
		}
		today = club.Today(s.now())
		from, until = page.days(r, today)
		list, parts = advice.RepairList(club, from, until)
		var boxes []int64
		for _, rep := range list {
			boxes = append(boxes, rep.BoxID)
		}
		tx.Last()
		photos, err = tx.PhotosOf(r.Context(), boxes)
		return err
	})
	if err != nil {
		return err
	}
	p := &apiaryRecords{club: club, names: scheduler.NewNames(club), say: speaker(club, who.MemberID), today: today, photos: byOpening(photos)}
	page.From, page.Until, page.FromDay, page.UntilDay = from.String(), until.String(), p.say.PlainDay(from), p.say.PlainDay(until)
	for _, need := range parts {
		line := partLine{Part: p.say.Word(need.Part), Count: need.Count}
		for _, f := range need.For {
			line.For = append(line.For, p.boxName(f.HiveID, f.BoxID)+": "+p.say.Tell(f.Because))
		}
		page.Parts = append(page.Parts, line)
	}
	for _, rep := range list {
		_, box := p.names.Box(rep.BoxID)
		line := repairLine{BoxID: rep.BoxID, Box: box, Where: p.say.Say("page.repairs.no-hive")}
		if rep.HiveID != 0 {
			line.Where = p.names.Apiary(rep.ApiaryID) + ", " + p.say.Hive(p.names.Hive(rep.HiveID))
		}
		for _, f := range rep.Found {
			found := repairFinding{On: p.say.PlainDay(f.On), What: sentence(p.say.Tell(f.What)), Cure: sentence(p.say.Tell(f.Cure))}
			if !f.Why.IsZero() {
				found.Why = p.say.Say("page.found.likely", f.Why)
			}
			line.Found = append(line.Found, found)
		}
		line.Photos = p.repairPhotos(&rep, who)
		page.Boxes = append(page.Boxes, line)
	}
	return s.showTo(w, r, who, club, http.StatusOK, "repairs", p.say.Say("page.repairs.title"), page)
}

// days takes the days of the list from an address; without any, a year up to now.
func (v *repairsView) days(r *http.Request, today scheduler.Date) (from, until scheduler.Date) {
	from, until = today-scheduler.HorizonDays, today
	for field, to := range map[string]*scheduler.Date{"from": &from, "until": &until} {
		if asked := r.URL.Query().Get(field); asked != "" {
			d, err := scheduler.ParseDate(asked)
			if err != nil {
				v.Problem = text.New("form.not-a-day", cut(asked))
				continue
			}
			*to = d
		}
	}
	return from, until
}

// repairPhotos shows the photos of a box from the days on which it was found what
// is to be put right.
func (p *apiaryRecords) repairPhotos(rep *advice.Repair, who *visitor) (v photosView) {
	b := boxOfRepair(p.club, rep)
	if b == nil {
		return v
	}
	for _, o := range scheduler.Effective(b.Openings) {
		if slices.ContainsFunc(rep.Found, func(f advice.RepairFinding) bool { return f.On == o.On }) {
			v.Stand = append(v.Stand, p.photosView(b, &o, who).Stand...)
		}
	}
	return v
}

func boxOfRepair(c *scheduler.Club, rep *advice.Repair) *scheduler.Box {
	if a := c.Apiary(rep.ApiaryID); a != nil {
		_, b := a.Box(rep.BoxID)
		return b
	}
	for i := range c.Spare {
		if c.Spare[i].ID == rep.BoxID {
			return &c.Spare[i]
		}
	}
	return nil
}

func (p *apiaryRecords) boxName(hive, box int64) string {
	_, name := p.names.Box(box)
	if h := p.say.Hive(p.names.Hive(hive)); h != "" && name != "" {
		return h + " " + name
	} else if h != "" {
		return h
	}
	return name
}
