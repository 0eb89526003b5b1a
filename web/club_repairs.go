package web

import (
	"net/http"

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
	BoxID int64
	Where string
	Box   string
	Found []repairFinding
}

type repairFinding struct{ On, What, Why, Cure string }

func (s *Server) repairs(w http.ResponseWriter, r *http.Request, who *visitor) error {
	var club *scheduler.Club
	err := s.cfg.Store.InSnapshot(r.Context(), who.ClubID, func(tx *store.Tx) (err error) {
		club, err = tx.Club(r.Context())
		return err
	})
	if err != nil {
		return err
	}
	today := club.Today(s.now())
	from, until := today-scheduler.HorizonDays, today
	page := repairsView{}
	for field, to := range map[string]*scheduler.Date{"from": &from, "until": &until} {
		if asked := r.URL.Query().Get(field); asked != "" {
			d, err := scheduler.ParseDate(asked)
			if err != nil {
				page.Problem = text.New("form.not-a-day", cut(asked))
				continue
			}
			*to = d
		}
	}
	p := &apiaryRecords{club: club, names: scheduler.NewNames(club), say: speaker(club, who.MemberID), today: today}
	page.From, page.Until, page.FromDay, page.UntilDay = from.String(), until.String(), p.say.PlainDay(from), p.say.PlainDay(until)
	repairs, parts := advice.RepairList(club, from, until)
	for _, need := range parts {
		line := partLine{Part: p.say.Word(need.Part), Count: need.Count}
		for _, f := range need.For {
			line.For = append(line.For, p.boxName(f.HiveID, f.BoxID)+": "+p.say.Tell(f.Because))
		}
		page.Parts = append(page.Parts, line)
	}
	for _, rep := range repairs {
		_, box := p.names.Box(rep.BoxID)
		line := repairLine{BoxID: rep.BoxID, Box: box, Where: p.say.Say("page.repairs.no-hive")}
		if rep.HiveID != 0 {
			line.Where = p.names.Apiary(rep.ApiaryID) + ", " + p.names.Hive(rep.HiveID)
		}
		for _, f := range rep.Found {
			found := repairFinding{On: p.say.PlainDay(f.On), What: sentence(p.say.Tell(f.What)), Cure: sentence(p.say.Tell(f.Cure))}
			if !f.Why.IsZero() {
				found.Why = p.say.Say("page.found.likely", f.Why)
			}
			line.Found = append(line.Found, found)
		}
		page.Boxes = append(page.Boxes, line)
	}
	return s.showTo(w, r, who, club, http.StatusOK, "repairs", p.say.Say("page.repairs.title"), page)
}

func (p *apiaryRecords) boxName(hive, box int64) string {
	_, name := p.names.Box(box)
	if h := p.names.Hive(hive); h != "" && name != "" {
		return h + " " + name
	} else if h != "" {
		return h
	}
	return name
}
