package web

import (
	"context"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
	"pryday/store"
)

// visitLine is what every page says of a visit.
type visitLine struct {
	UID      string
	Path     string
	Sequence int
	Day, ISO string
	When     string // "in 3 days"
	ApiaryID int64
	Apiary   string
	Goes     string // who goes, by their own word, or is expected
	Phones   []phoneLine
	Going    int  // how many said so
	Mine     bool // expected to go
	Said     bool // and said so
	Open     bool
	Soon     bool // near enough that somebody should be going
	Status   scheduler.VisitStatus
	Pinned   bool
	Boxes    int
	Why      string     // where a page says so
	Worst    string     // of the chances that a box is hard, where a page says so
	Work     *visitWork // where a page says what it takes
}

// visitView is one visit with all that there is to know before going.
type visitView struct {
	visitLine
	Ahead     bool // there is something left to do on it
	Better    *betterDay
	Apart     *apartFrom
	AllOpened string // for an unanswered visit
	Also      *unwrittenView
	Recent    *recentView
	Top, All  []string // cautions
	Bring     string
	Weather   string
	Access    string
	Stacks    []stackView
	Resting   []stackView // hives that are not opened
	MayPlan   bool
	Members   []choice
	Days      []dayChoice
	DaysLate  string // that the rules ask for something before one of them
	CancelFor []dayChoice
	Openers   []string // who opened, where another wrote it down
	Checklist []checkGroup
	Was       string // keys of what is ticked in it
	Base      string // of the form that ticks
	TickedOn  string // the day that it ticks for
	Recorded  int
	MayRecord bool
}

// choice is one line of a list to choose from.
type choice struct {
	ID     int64
	Name   string
	Chosen bool
}

// dayChoice is one day to choose.
type dayChoice struct {
	ISO, Day string
}

// phoneLine is the number of somebody who is expected on a visit, for whoever may
// see it.
type phoneLine struct {
	Name, Number string
	Dial         template.URL // empty where no phone could dial it
}

// phones lists the numbers that a member may see beside a visit.
func (p *apiaryRecords) phones(v *scheduler.Visit, member int64) (out []phoneLine) {
	for _, id := range v.Who {
		if number := p.club.PhoneFor(member, id, v); number != "" {
			out = append(out, phoneLine{p.names.Member(id), number, dial(number)})
		}
	}
	return out
}

// dial is the part of a number that a phone dials (RFC 3966): its digits, after a
// plus where there is one, up to a word.
func dial(number string) template.URL {
	var b strings.Builder
	for _, r := range number {
		switch {
		case r >= '0' && r <= '9', r == '+' && b.Len() == 0:
			b.WriteRune(r)
		}
		if unicode.IsLetter(r) && b.Len() > 0 {
			break
		}
	}
	if b.Len() == 0 {
		return ""
	}
	return template.URL("tel:" + b.String()) // of digits alone
}

func visitPath(uid string) string { return "/visit/" + url.PathEscape(uid) }

// visitLine says what a visit is, as somebody sees it.
func (p *apiaryRecords) visitLine(v *scheduler.Visit, member int64) visitLine {
	return visitLine{
		UID: v.UID, Path: visitPath(v.UID), Sequence: v.Sequence, Day: p.say.Day(v.On), ISO: v.On.String(), When: p.when(v.On),
		ApiaryID: v.ApiaryID, Apiary: p.apiary.Name, Goes: p.goes(v, member), Phones: p.phones(v, member), Going: len(v.Taken),
		Mine: slices.Contains(v.Who, member), Said: v.IsTakenBy(member), Open: v.Status.Open(), Status: v.Status, Pinned: v.Pinned, Boxes: len(v.Boxes),
		Soon: v.On-p.today <= scheduler.Date(p.club.Rules.NoticeDays),
	}
}

// goes says to a member who goes on a visit, by their own word, and who is
// only expected; of one that is over, who was.
func (p *apiaryRecords) goes(v *scheduler.Visit, member int64) string {
	switch over := !v.Status.Open() && v.Status != scheduler.Unanswered; {
	case v.LacksPeople(p.today):
		return p.say.Say("page.visit.no-time")
	case len(v.Who) == 0 && over:
		return ""
	case len(v.Who) == 0:
		return p.say.Say("page.visit.nobody")
	case over && v.Status == scheduler.Done:
		return p.say.Say("page.visit.on-it", p.people(v.Who))
	case over && v.IsTaken():
		return p.say.Say("calendar.who-went", p.people(v.Taken))
	case over:
		return p.say.Say("page.visit.was-expected", p.people(v.Who))
	case v.IsTakenBy(member) && len(v.Taken) == 1:
		return p.say.Say("page.visit.alone")
	case v.IsTaken():
		return p.say.Say("page.visit.goes", len(v.Taken), p.people(v.Taken))
	case slices.Equal(v.Who, []int64{member}):
		return p.say.Say("page.visit.expected-you")
	}
	return p.say.Say("page.visit.expected", p.people(v.Who))
}

// when says how far away a day is.
func (p *apiaryRecords) when(on scheduler.Date) string {
	switch days := int(on - p.today); {
	case days == 0:
		return p.say.Say("page.when.today")
	case days == 1:
		return p.say.Say("page.when.tomorrow")
	case days == -1:
		return p.say.Say("page.when.yesterday")
	case days < 0:
		return p.say.Say("page.when.days-ago", -days)
	case days > 60:
		return p.say.Say("page.when.weeks", (days+3)/7)
	default:
		return p.say.Say("page.when.days", days)
	}
}

// visitRecords reads a visit and its apiary.
func (s *Server) visitRecords(ctx context.Context, who *visitor, uid string) (*apiaryRecords, *scheduler.Visit, error) {
	var p *apiaryRecords
	var visit *scheduler.Visit
	err := s.inAnyClub(ctx, who, func(tx *store.Tx) error {
		tx.Last()
		a, err := tx.RecordsAroundVisit(ctx, uid, scheduler.DateOf(s.now().UTC()))
		if err != nil {
			return err
		}
		p = s.apiaryRecords(a, who)
		visit = &a.Club.Visits[slices.IndexFunc(a.Club.Visits, func(v scheduler.Visit) bool { return v.UID == uid })]
		return nil
	})
	return p, visit, err
}

func (s *Server) visit(w http.ResponseWriter, r *http.Request, who *visitor) error {
	p, v, err := s.visitRecords(r.Context(), who, r.PathValue("uid"))
	if err != nil {
		return err
	}
	page := p.visitView(v, who)
	page.MayRecord, page.AllOpened = true, s.allOpened(p.club, who, v)
	page.Base, page.TickedOn = uuid.NewString(), min(v.On, p.today).String()
	page.Recent = recentOpenings(p.say, p.todaysBy(who.MemberID, v), v.UID)
	return s.showTo(w, r, who, p.club, http.StatusOK, "visit", p.apiary.Name+", "+p.say.ShortDay(v.On), page)
}

func (p *apiaryRecords) visitView(v *scheduler.Visit, who *visitor) visitView {
	stage := p.season.Stage(v.On)
	opened := scheduler.FoundOn(p.club, v)
	page := visitView{
		visitLine: p.visitLine(v, who.MemberID), Access: p.apiary.AccessNotes, Ahead: p.ahead(v, opened),
		Bring: p.bring(v, stage), Weather: p.weather(v),
		MayPlan: v.May(scheduler.VisitMoved) && who.mayPlan(p.apiary, v),
	}
	if v.Status.Open() {
		page.Why, page.Apart = p.whyVisit(p.plan, v), p.apart(v)
	}
	page.Work = p.work(v, v.Expected(), who)
	if page.MayPlan {
		page.Better, page.CancelFor = p.better(v), p.cancelDays(v)
	}
	page.Top, page.All = p.cautions(v, stage, who.MemberID)
	page.All = page.All[len(page.Top):] // which stand above
	for i := range p.apiary.Hives {
		h := &p.apiary.Hives[i]
		if h.RetiredOn != 0 && h.RetiredOn <= v.On {
			continue
		}
		st := p.stack(h, v, v.On)
		st.cameTo(opened, page.Ahead)
		page.Recorded += st.Recorded
		if st.Opens+st.Recorded > 0 || slices.ContainsFunc(st.Boxes, func(b boxView) bool { return b.Off }) {
			page.Stacks = append(page.Stacks, st)
		} else {
			page.Resting = append(page.Resting, st)
		}
	}
	for _, m := range p.club.Members {
		page.Members = append(page.Members, choice{m.ID, m.Name, slices.Contains(v.Who, m.ID)})
	}
	page.Days = p.otherDays(v)
	if page.MayPlan {
		page.DaysLate = p.daysLate(v, page.Days)
	}
	page.Also = p.unwritten(v, scheduler.UnwrittenOf(p.apiary, v, &p.club.Rules, p.today))
	page.Openers = p.openersOf(v)
	page.Checklist = p.checklist(v, stage)
	var was []string
	for _, g := range page.Checklist {
		for _, it := range g.Items {
			if it.Done {
				was = append(was, it.Key)
			}
		}
	}
	page.Was = strings.Join(was, " ")
	return page
}

// ahead reports whether boxes of a visit are still to be opened, as far as anybody has
// said: it is done with its first record, while people are still there.
func (p *apiaryRecords) ahead(v *scheduler.Visit, opened map[int64]bool) bool {
	if v.Status != scheduler.Done || v.On < p.today {
		return answerable(v)
	}
	return slices.ContainsFunc(v.Boxes, func(b scheduler.VisitBox) bool {
		_, box := p.apiary.Box(b.BoxID)
		return box != nil && !opened[b.BoxID] && !slices.Contains(v.NotOpened, b.BoxID)
	})
}

// openersOf says who opened boxes at a visit, where another wrote it down.
func (p *apiaryRecords) openersOf(v *scheduler.Visit) (out []string) {
	boxes := map[string][]string{}
	var order []string
	for i := range p.apiary.Hives {
		for j := range slices.Backward(p.apiary.Hives[i].Boxes) {
			b := &p.apiary.Hives[i].Boxes[j]
			if o := b.OpeningOn(v.On); o != nil && o.Opener != nil {
				if who := p.whoOpened(o); who != "" {
					if boxes[who] == nil {
						order = append(order, who)
					}
					boxes[who] = append(boxes[who], b.Name)
				}
			}
		}
	}
	for _, who := range order {
		out = append(out, p.say.Say("form.named", p.say.List(boxes[who]), who))
	}
	return out
}

// whyVisit explains a visit, without its apiary and day where those stand
// above already.
func (p *apiaryRecords) whyVisit(plan *scheduler.Plan, v *scheduler.Visit) string {
	return p.whyListed(plan.Today, v, scheduler.ListVisit(p.club, v))
}

// whyListed is whyVisit of one of which it is known in short what it opens.
func (p *apiaryRecords) whyListed(today scheduler.Date, v *scheduler.Visit, list scheduler.VisitList) string {
	return sentence(below(p.say.Tell(scheduler.ExplainVisitList(p.club, today, v, list).Text()), p.apiary.Name))
}

// below takes off an explanation what a heading above it says already: a name
// and what follows it up to the colon.
func below(why, name string) string {
	if rest, ok := strings.CutPrefix(why, name); ok {
		if _, after, found := strings.Cut(rest, ": "); found {
			return after
		}
	}
	return why
}

// otherDays are the days that a visit may be put off to.
func (p *apiaryRecords) otherDays(v *scheduler.Visit) []dayChoice {
	var out []dayChoice
	if !v.May(scheduler.VisitMoved) {
		return nil
	}
	for _, d := range scheduler.RainedOff(p.club, v, p.today, 5) {
		out = append(out, dayChoice{d.String(), p.say.Day(d)})
	}
	return out
}

// bring says what to take along.
func (p *apiaryRecords) bring(v *scheduler.Visit, stage scheduler.Stage) string {
	return sentence(p.say.Tell(advice.BringText(p.club, v, stage)))
}

func (p *apiaryRecords) weather(v *scheduler.Visit) string {
	return sentence(p.say.Tell(advice.WeatherText(v)))
}

// cautions says to one member, or to anybody (0), what can hurt people: the
// gravest two, and the full list.
func (p *apiaryRecords) cautions(v *scheduler.Visit, stage scheduler.Stage, reader int64) (top, all []string) {
	advice := advice.Cautions(p.club, v, stage, reader)
	for _, c := range advice.Top {
		top = append(top, p.say.Tell(c.Say))
	}
	for _, c := range advice.All {
		all = append(all, p.say.Tell(c.Say))
	}
	return top, all
}

// printVisit is the visit on paper: boxes to tick with a pencil.
func (s *Server) printVisit(w http.ResponseWriter, r *http.Request, who *visitor) error {
	p, v, err := s.visitRecords(r.Context(), who, r.PathValue("uid"))
	if err != nil {
		return err
	}
	page := p.printSheet(v, who)
	page.Access = p.apiary.AccessNotes
	return s.showSheet(w, r, p, v, page)
}

func (s *Server) showSheet(w http.ResponseWriter, r *http.Request, p *apiaryRecords, v *scheduler.Visit, page printView) error {
	return s.show(w, r, http.StatusOK, "sheet", view{say: p.say, Title: p.apiary.Name + ", " + p.say.Day(v.On), Club: p.club.Name, Page: page})
}

// capital begins with a capital.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// sentence begins with a capital and ends with a full stop.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	s = capital(s)
	if !text.EndsSentence(s) {
		s += "."
	}
	return s
}
