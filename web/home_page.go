package web

import (
	"cmp"
	"net/http"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// What the home page bounds, so that it stays light in a club of hundreds of
// apiaries: the rest stands on the apiaries' own pages.
const (
	homeVisits  = 40
	homeStrips  = 10
	homeOverdue = 20
	homeDays    = 42
)

// homeView is what is due, for people.
type homeView struct {
	TooMuch []text.Text // for people, in the next weeks
	Also    []*unwrittenView
	Recent  *recentView
	Nobody  []visitCard
	Overdue []overdueLine
	Weeks   []weekView
	More    int // visits of the coming weeks that are not shown
	Later   int // visits beyond them
	Strips  []apiaryStrip
	Empty   bool // nothing is planned
	Steps   []firstStep
	Leads   bool
	Visits  int
}

type weekView struct {
	Title  string // key of a text
	Visits []visitCard
}

type visitCard struct {
	visitLine
	Why   string
	Worst string // of the chances that a box is hard
}

// overdueLine is one apiary with boxes past their day.
type overdueLine struct {
	ApiaryID int64
	Apiary   string
	Text     string
}

type apiaryStrip struct {
	ID   int64
	Name string
	Year yearStrip
}

func (s *Server) home(w http.ResponseWriter, r *http.Request, who *visitor) error {
	rec, err := s.homeRecords(r.Context(), who)
	if err != nil {
		return err
	}
	page := rec.view(who)
	return s.showTo(w, r, who, rec.club, http.StatusOK, "home", rec.say.Say("page.home.title"), page)
}

func (rec *homeRecords) view(who *visitor) homeView {
	v := homeView{Empty: len(rec.visits) == 0, Visits: len(rec.visits), Leads: who.Role == scheduler.Organiser}
	v.Steps, v.TooMuch = rec.firstSteps(who), rec.tooMuch(who)
	rec.say = speaker(rec.club, who.MemberID)
	rec.names = [2]*scheduler.Names{scheduler.NewNames(rec.club), scheduler.NewNames(rec.stacks)}
	plan := &scheduler.Plan{Today: rec.today}
	for i := range rec.shown {
		plan.Visits = append(plan.Visits, rec.shown[i].Visit)
	}
	slices.SortStableFunc(rec.shown, func(a, b store.VisitRecord) int { return cmp.Compare(a.On, b.On) })
	inWeeks := 0
	for i := range rec.shown {
		visit := &rec.shown[i].Visit
		p := rec.apiaryRecords(visit.ApiaryID)
		if p == nil {
			continue
		}
		card := p.card(plan, visit, who)
		if rec.rank(visit, who) == 0 {
			v.Nobody = append(v.Nobody, card)
			continue
		}
		inWeeks++
		title := weekTitle(visit.On, rec.today)
		if n := len(v.Weeks); n == 0 || v.Weeks[n-1].Title != title {
			v.Weeks = append(v.Weeks, weekView{Title: title})
		}
		last := &v.Weeks[len(v.Weeks)-1]
		last.Visits = append(last.Visits, card)
	}
	for i := range rec.visits {
		if rec.visits[i].On <= rec.today+homeDays {
			v.More++
		}
	}
	v.More -= inWeeks + len(v.Nobody)
	v.Later = len(rec.visits) - v.More - inWeeks - len(v.Nobody)
	v.Overdue = rec.overdue()
	v.Recent = recentOpenings(rec.say, rec.recent, "")
	for i := range rec.asked {
		if p := rec.apiaryRecords(rec.asked[i].Visit.ApiaryID); p != nil {
			v.Also = append(v.Also, p.unwritten(&rec.asked[i].Visit, rec.asked[i].About))
		}
	}
	for _, id := range rec.strips {
		if p := rec.apiaryRecords(id); p != nil {
			v.Strips = append(v.Strips, apiaryStrip{id, p.apiary.Name, p.newYearStrip(rec.opened[id], rec.visitsOf(id))})
		}
	}
	return v
}

func (rec *homeRecords) visitsOf(apiary int64) []scheduler.Visit {
	var out []scheduler.Visit
	for i := range rec.visits {
		if rec.visits[i].ApiaryID == apiary {
			out = append(out, rec.visits[i].Visit)
		}
	}
	return out
}

func (p *apiaryRecords) card(plan *scheduler.Plan, v *scheduler.Visit, who *visitor) visitCard {
	c := visitCard{visitLine: p.visitLine(v, who.MemberID), Why: p.whyVisit(plan, v)}
	worst := 0.0
	for _, b := range v.Boxes {
		worst = max(worst, b.Odds)
	}
	if worst >= 0.25 {
		c.Worst = sentence(p.say.Say("page.home.worst", text.Chance(worst)))
	}
	return c
}

// overdue lists the apiaries with boxes past their day, the longest first.
func (rec *homeRecords) overdue() []overdueLine {
	late := slices.DeleteFunc(slices.Clone(rec.counts), func(c store.ApiaryCount) bool { return c.Overdue == 0 })
	slices.SortStableFunc(late, func(a, b store.ApiaryCount) int { return cmp.Compare(a.Since, b.Since) })
	var out []overdueLine
	for _, c := range late[:min(len(late), homeOverdue)] {
		p := rec.apiaryRecords(c.ID)
		if p == nil {
			continue
		}
		late := text.New("page.home.late-unplanned", c.Overdue, c.Since)
		if visits := rec.visitsOf(c.ID); len(visits) > 0 {
			late = text.New("page.home.late", c.Overdue, c.Since, text.Short(visits[0].On))
		}
		out = append(out, overdueLine{c.ID, p.apiary.Name, p.say.Tell(late)})
	}
	return out
}

// weekTitle names the stretch of time that a visit falls in, by a text's key.
func weekTitle(on, today scheduler.Date) string {
	switch days := on - today; {
	case days < 0:
		return "page.home.past"
	case days == 0:
		return "page.form.today"
	case days < 7:
		return "page.home.week"
	case days < 28:
		return "page.home.month"
	default:
		return "page.home.after"
	}
}
