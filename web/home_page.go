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
	nobodyShown = 3 // visits that nobody goes to, before the others are folded
	homeDays    = 42
)

// homeView answers what to do next: first to whoever looks, then to the club.
type homeView struct {
	Asked   bool // to join a further club
	Steps   []firstStep
	Leads   bool
	Empty   bool      // nothing is planned
	NoFeed  bool      // the visits are in no calendar of whoever looks
	Next    *nextCard // the next visit of whoever looks; to an organiser who goes nowhere, of the club
	Also    []*unwrittenView
	Recent  *recentView
	Nobody  []visitLine
	Further []visitLine // more that nobody goes to
	Guesses guessesView
	TooMuch []text.Text // for people, in the next weeks
	Rest    text.Text   // what else there is, in one line
	Overdue []overdueLine
	Weeks   []weekView
	More    int // visits of the coming weeks that are not shown
	Later   int // visits beyond them
	Strips  []apiaryStrip
}

type weekView struct {
	Title  string // key of a text
	Visits []visitLine
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
	v := homeView{Asked: who.person.Invitations > 0, Empty: rec.open.All == 0, Leads: who.Role == scheduler.Organiser}
	v.NoFeed = !v.Empty && !rec.feeds
	v.Steps, v.TooMuch = rec.firstSteps(who), rec.tooMuch(who)
	rec.say = speaker(rec.club, who.MemberID)
	rec.names = [2]*scheduler.Names{scheduler.NewNames(rec.club), scheduler.NewNames(rec.stacks)}
	v.addVisits(rec, who)
	v.Guesses = rec.guesses(who)
	v.Overdue = rec.overdue()
	v.Recent = recentOpenings(rec.say, rec.recent, "")
	for i := range rec.asked {
		if p := rec.apiaryRecords(rec.asked[i].Visit.ApiaryID); p != nil {
			v.Also = append(v.Also, p.unwritten(&rec.asked[i].Visit, rec.asked[i].About))
		}
	}
	for _, id := range rec.strips {
		if p := rec.apiaryRecords(id); p != nil {
			p.season = scheduler.NewSeason(p.apiary.Place(), &rec.club.Rules)
			v.Strips = append(v.Strips, apiaryStrip{id, p.apiary.Name, p.newYearStrip(rec.opened[id], rec.visitsOf(id))})
		}
	}
	v.Rest = v.rest()
	return v
}

// addVisits sorts the visits into the next one, those that nobody goes to and
// the rest, by day.
func (v *homeView) addVisits(rec *homeRecords, who *visitor) {
	slices.SortStableFunc(rec.shown, func(a, b store.VisitRecord) int { return cmp.Compare(a.On, b.On) })
	next, near := rec.next(who), 0
	for i := range rec.shown {
		visit := &rec.shown[i].Visit
		p := rec.apiaryRecords(visit.ApiaryID)
		if p == nil {
			continue
		}
		if visit.On <= rec.today+homeDays {
			near++
		}
		line := p.lineWithWhy(visit, rec.lists[visit.ID], who)
		switch rec.rank(visit, who, next) {
		case -1:
			v.Next = p.nextCard(line, visit)
		case 0:
			v.Nobody = append(v.Nobody, line)
		default:
			title := weekTitle(visit.On, rec.today)
			if n := len(v.Weeks); n == 0 || v.Weeks[n-1].Title != title {
				v.Weeks = append(v.Weeks, weekView{Title: title})
			}
			last := &v.Weeks[len(v.Weeks)-1]
			last.Visits = append(last.Visits, line)
		}
	}
	if !v.Leads {
		slices.SortStableFunc(v.Nobody, func(a, b visitLine) int { return rec.minesFirst(who, a.ApiaryID, b.ApiaryID) })
	}
	shown := min(len(v.Nobody), nobodyShown)
	v.Nobody, v.Further = v.Nobody[:shown], v.Nobody[shown:]
	v.More, v.Later = rec.open.Near-near, rec.open.All-rec.open.Near
}

func (rec *homeRecords) visitsOf(apiary int64) []scheduler.Visit {
	n := 0
	for i := range rec.open.Visits {
		if rec.open.Visits[i].ApiaryID == apiary {
			n++
		}
	}
	out := make([]scheduler.Visit, 0, n)
	for i := range rec.open.Visits {
		if rec.open.Visits[i].ApiaryID == apiary {
			out = append(out, rec.open.Visits[i].Visit)
		}
	}
	return out
}

// lineWithWhy says of a visit as well what it opens, why then, and how hard that may be.
func (p *apiaryRecords) lineWithWhy(v *scheduler.Visit, list scheduler.VisitList, who *visitor) visitLine {
	c := p.visitLine(v, who.MemberID)
	c.Why, c.Work = p.whyListed(p.today, v, list), p.work(v, list.Work, who)
	if list.Worst >= 0.25 {
		c.Worst = sentence(p.say.Say("page.home.worst", text.Chance(list.Worst)))
	}
	return c
}

// overdue says of each of them how much is late, and when somebody comes.
func (rec *homeRecords) overdue() (out []overdueLine) {
	for _, c := range rec.late {
		p := rec.apiaryRecords(c.ID)
		if p == nil {
			continue
		}
		late := text.New("page.home.late-unplanned", c.Overdue, c.Since)
		if on := rec.open.First[c.ID]; on != 0 {
			late = text.New("page.home.late", c.Overdue, c.Since, text.Short(on))
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
