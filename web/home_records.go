package web

import (
	"cmp"
	"context"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// askedDays is as long as the rules let a visit wait for word of it.
const askedDays = 30

// homeRecords is all that the page is made from.
type homeRecords struct {
	club    *scheduler.Club // apiaries without hives
	stacks  *scheduler.Club // those of the next visit and of what is asked, with their boxes
	late    []store.ApiaryLate
	counts  []store.ApiaryCount // what stands at apiaries, where nothing is planned
	open    *store.HomeVisits
	shown   []store.VisitRecord
	lists   map[int64]scheduler.VisitList // what those open
	asked   []store.AskedVisit            // done ones, of which it is asked what else was opened
	recent  []store.RecentOpening         // by whoever looks
	guessed []store.HiveGuessed
	feeds   bool // whoever looks has a calendar address
	strips  []int64
	opened  map[int64][]scheduler.Date
	today   scheduler.Date
	say     *text.Speaker
	names   [2]*scheduler.Names // of club and of stacks
}

func (s *Server) homeRecords(ctx context.Context, who *visitor) (*homeRecords, error) {
	rec := &homeRecords{}
	err := s.cfg.Store.InSnapshot(ctx, who.ClubID, func(tx *store.Tx) error {
		first, err := tx.Home(ctx, store.HomeWish{Member: who.MemberID, Leads: who.Role == scheduler.Organiser, Since: s.earliest() - askedDays, MostLate: homeOverdue})
		if err != nil {
			return err
		}
		rec.club, rec.late = first.Club, first.Late
		rec.today = rec.club.Today(s.now())
		rec.strips = rec.stripsFor(who)
		if err := rec.readVisits(ctx, tx, who); err != nil {
			return err
		}
		next := rec.next(who)
		rec.shown = slices.DeleteFunc(slices.Clone(rec.open.Visits), func(v store.VisitRecord) bool { return v.On > rec.today+homeDays && v.UID != next })
		// The next one, nobody's and one's own come first when not all fit.
		slices.SortStableFunc(rec.shown, func(a, b store.VisitRecord) int {
			return cmp.Compare(rec.rank(&a.Visit, who, next), rec.rank(&b.Visit, who, next))
		})
		rec.shown = rec.shown[:min(len(rec.shown), homeVisits)]
		rec.recent, rec.guessed, rec.feeds = first.Recent, first.Guessed, first.Subscribed
		rec.asked = slices.DeleteFunc(first.Asked, func(a store.AskedVisit) bool {
			return a.Visit.On < rec.today-scheduler.Date(rec.club.Rules.AnswerDays)
		})
		var read []store.VisitRecord
		for i := range rec.asked {
			read = append(read, store.VisitRecord{Visit: rec.asked[i].Visit})
		}
		for _, v := range rec.shown {
			if v.UID == next {
				read = append(read, v)
			}
		}
		tx.Last()
		rec.stacks, rec.opened, rec.lists, err = tx.HomeStacks(ctx, rec.club, read, rec.shown, rec.strips, rec.today-150)
		return err
	})
	return rec, err
}

// readVisits reads the open visits of which some are shown; where there are
// none, what else there is.
func (rec *homeRecords) readVisits(ctx context.Context, tx *store.Tx, who *visitor) (err error) {
	w := store.HomeWindow{
		Member: who.MemberID, Today: rec.today, From: rec.today - 2, Until: rec.today + homeDays, Soon: rec.today + scheduler.Date(rec.club.Rules.NoticeDays),
		Most: homeVisits, Whole: rec.strips,
	}
	for _, c := range rec.late {
		w.FirstAt = append(w.FirstAt, c.ID)
	}
	if rec.open, err = tx.HomeVisits(ctx, w); err != nil {
		return err
	}
	if rec.open.All == 0 {
		rec.counts, err = tx.ApiaryCounts(ctx)
	}
	return err
}

// earliest is a day that is over nowhere, for reading what begins with a club's
// today before the club is known.
func (s *Server) earliest() scheduler.Date { return scheduler.DateOf(s.now().UTC()) - 1 }

// since leaves out the visits before a day.
func since(visits []store.VisitRecord, day scheduler.Date) []store.VisitRecord {
	return slices.DeleteFunc(visits, func(v store.VisitRecord) bool { return v.On < day })
}

func (rec *homeRecords) rank(v *scheduler.Visit, who *visitor, next string) int {
	switch {
	case v.UID == next:
		return -1
	case len(v.Who) == 0 && rec.near(v):
		return 0
	case slices.Contains(v.Who, who.MemberID):
		return 1
	}
	return 2
}

// near reports whether a visit is so near that somebody should be going.
func (rec *homeRecords) near(v *scheduler.Visit) bool {
	return v.On <= rec.today+scheduler.Date(rec.club.Rules.NoticeDays)
}

// tooMuch says what is too much for people in the next weeks: of the club to an
// organiser, and else of the apiaries that somebody looks after.
func (rec *homeRecords) tooMuch(who *visitor) []text.Text {
	lacking := rec.open.Lacking
	if who.Role != scheduler.Organiser {
		lacking = slices.DeleteFunc(slices.Clone(lacking), func(v scheduler.Lacking) bool {
			a := rec.club.Apiary(v.ApiaryID)
			return a == nil || !slices.Contains(a.Keepers, who.MemberID)
		})
	}
	var out []text.Text
	for _, o := range scheduler.Overloads(rec.club, lacking, rec.today) {
		out = append(out, o.Text())
	}
	return out
}

// stripsFor chooses the apiaries whose year is drawn: those that somebody
// looks after, and for an organiser all, as far as they fit.
func (rec *homeRecords) stripsFor(who *visitor) []int64 {
	var mine, others []int64
	for i := range rec.club.Apiaries {
		a := &rec.club.Apiaries[i]
		if slices.Contains(a.Keepers, who.MemberID) {
			mine = append(mine, a.ID)
		} else {
			others = append(others, a.ID)
		}
	}
	if len(mine) == 0 || who.Role == scheduler.Organiser {
		mine = append(mine, others...)
	}
	return mine[:min(len(mine), homeStrips)]
}

// apiaryRecords is one apiary of the page, with its boxes where they were read,
// without its season.
func (rec *homeRecords) apiaryRecords(id int64) *apiaryRecords {
	p := &apiaryRecords{today: rec.today, say: rec.say}
	for n, c := range []*scheduler.Club{rec.club, rec.stacks} {
		if a := c.Apiary(id); a != nil {
			p.apiary, p.club, p.names = a, c, rec.names[n]
		}
	}
	if p.apiary == nil {
		return nil
	}
	return p
}
