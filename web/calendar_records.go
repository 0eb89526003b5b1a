package web

import (
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// calendarRecords is what the pages of the calendar are made from.
type calendarRecords struct {
	club   *scheduler.Club
	visits []store.CalendarVisit // of the whole club, by day
	after  scheduler.Date        // of the next planned visit behind them; 0 for none
	of     chosenVisits
	who    *visitor
	today  scheduler.Date
	say    *text.Speaker
	names  *scheduler.Names
}

// calendarRecords reads the visits of some days.
func (s *Server) calendarRecords(r *http.Request, who *visitor, from, until scheduler.Date) (*calendarRecords, error) {
	rec := &calendarRecords{who: who}
	err := s.cfg.Store.InSnapshot(store.MayLag(r.Context()), who.ClubID, func(tx *store.Tx) error {
		tx.Last()
		all, err := tx.Calendar(r.Context(), from, until)
		if err == nil {
			rec.club, rec.visits, rec.after = all.Club, all.Visits, all.After
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	rec.today, rec.say, rec.names = rec.club.Today(s.now()), speaker(rec.club, who.MemberID), scheduler.NewNames(rec.club)
	rec.of, err = askedWhose(r.URL.Query(), rec.club, who)
	return rec, err
}

// shown are the visits from one day to another that were asked for, by day.
func (rec *calendarRecords) shown(from, until scheduler.Date) []*store.CalendarVisit {
	var out []*store.CalendarVisit
	for i := range rec.visits {
		if v := &rec.visits[i]; v.On >= from && v.On <= until && rec.of.isOf(rec.club, &v.Visit) {
			out = append(out, v)
		}
	}
	return out
}

// apiaries are those whose seasons stand behind the visits: the one that was
// chosen, those of the person, or all.
func (rec *calendarRecords) apiaries(shown []*store.CalendarVisit) []*scheduler.Apiary {
	visited := map[int64]bool{}
	for _, v := range shown {
		visited[v.ApiaryID] = true
	}
	var all, some []*scheduler.Apiary
	for i := range rec.club.Apiaries {
		a := &rec.club.Apiaries[i]
		all = append(all, a)
		if a.ID == rec.of.apiary || rec.of.apiary == 0 && rec.of.person != 0 && (visited[a.ID] || slices.Contains(a.Keepers, rec.of.person)) {
			some = append(some, a)
		}
	}
	if len(some) == 0 {
		return all
	}
	return some
}

// whoseView is the choice of whose visits are shown.
type whoseView struct {
	Says          text.Text
	Mine, All     string // paths
	IsMine, IsAll bool
	People        []choice
	Apiaries      []choice
	Everybody     string
	Name, Value   string // of what the address says beside it
	Page          string
}

func (rec *calendarRecords) whoseView(page, name, value string) whoseView {
	mine, all := rec.of, rec.of
	mine.person, mine.chosen, all.person, all.chosen = rec.who.MemberID, true, 0, true
	v := whoseView{
		Says: rec.saysWhose(), Mine: mine.path(page, name, value), All: all.path(page, name, value), Everybody: everybody,
		IsMine: rec.of.person == rec.who.MemberID, IsAll: rec.of.person == 0, Name: name, Value: value, Page: page,
	}
	for _, m := range rec.club.Members {
		v.People = append(v.People, choice{m.ID, m.Name, m.ID == rec.of.person})
	}
	for i := range rec.club.Apiaries {
		a := &rec.club.Apiaries[i]
		v.Apiaries = append(v.Apiaries, choice{a.ID, a.Name, a.ID == rec.of.apiary})
	}
	return v
}

// saysWhose says whose visits are shown.
func (rec *calendarRecords) saysWhose() text.Text {
	at := rec.names.Apiary(rec.of.apiary)
	switch rec.of.person {
	case 0:
		if at != "" {
			return text.New("page.calendar.of-apiary", at)
		}
		return text.New("page.calendar.of-club")
	case rec.who.MemberID:
		if at != "" {
			return text.New("page.calendar.of-you-at", at)
		}
		return text.New("page.calendar.of-you")
	}
	name := rec.names.Member(rec.of.person)
	if at != "" {
		return text.New("page.calendar.of-person-at", name, at)
	}
	return text.New("page.calendar.of-person", name)
}
