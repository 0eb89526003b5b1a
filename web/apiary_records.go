package web

import (
	"context"
	"errors"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// apiaryRecords is one apiary with its records, as the pages about it need them.
type apiaryRecords struct {
	club   *scheduler.Club
	apiary *scheduler.Apiary // nil for what stands at none
	states map[int64]*scheduler.BoxState
	plan   *scheduler.Plan   // the saved one: this apiary's open visits and boxes
	season *scheduler.Season // nil without an apiary
	names  *scheduler.Names
	say    *text.Speaker
	today  scheduler.Date
	photos map[string][]store.Photo // by the ids of their openings
}

// apiaryRecords is what was read of one apiary, for somebody.
func (s *Server) apiaryRecords(a *store.Around, who *visitor) *apiaryRecords {
	club := a.Club
	p := &apiaryRecords{club: club, names: scheduler.NewNames(club), states: map[int64]*scheduler.BoxState{}, say: speaker(club, who.MemberID)}
	p.apiary = club.Apiary(a.ApiaryID)
	if p.apiary == nil { // a box that never stood on a hive
		p.today, p.plan = club.Today(s.now()), &scheduler.Plan{}
		return p
	}
	p.season = scheduler.NewSeason(p.apiary.Place(), &club.Rules)
	p.today = p.apiary.Today(s.now())
	p.plan = &scheduler.Plan{Today: p.today, Boxes: a.States}
	for _, v := range club.Visits {
		if v.ApiaryID == a.ApiaryID && v.Status.Open() && v.On >= p.today {
			p.plan.Visits = append(p.plan.Visits, v)
		}
	}
	p.photos = byOpening(a.Photos)
	for i := range p.plan.Boxes {
		p.states[p.plan.Boxes[i].BoxID] = &p.plan.Boxes[i]
	}
	return p
}

// inAnyClub reads something in the club that somebody looks at, or else in
// whichever of their clubs has it: calendars name no club. Ids are never used
// twice in an installation.
func (s *Server) inAnyClub(ctx context.Context, who *visitor, read func(*store.Tx) error) error {
	first := who.Membership
	err := s.cfg.Store.InSnapshot(ctx, first.ClubID, read)
	for _, m := range who.clubs {
		if !errors.Is(err, store.ErrNotFound) {
			break
		}
		if m.ClubID == first.ClubID {
			continue
		}
		who.Membership = m
		if err = s.cfg.Store.InSnapshot(ctx, m.ClubID, read); err == nil {
			s.sessions.Put(ctx, keyClub, m.ClubID)
		} else {
			who.Membership = first
		}
	}
	return err
}

// people names members in an order.
func (p *apiaryRecords) people(ids []int64) []string {
	var out []string
	for _, id := range ids {
		if n := p.names.Member(id); n != "" {
			out = append(out, n)
		}
	}
	return out
}

// mayTend reports whether somebody may change an apiary and its hives: its
// keepers and the organisers.
func (who *visitor) mayTend(a *scheduler.Apiary) bool {
	return who.Role == scheduler.Organiser || who.Role == scheduler.Keeper && slices.Contains(a.Keepers, who.MemberID)
}

// mayPlan reports whether somebody may move or cancel a visit: whoever tends
// the apiary, and those who go.
func (who *visitor) mayPlan(a *scheduler.Apiary, v *scheduler.Visit) bool {
	return who.mayTend(a) || slices.Contains(v.Who, who.MemberID)
}
