package scheduler

import (
	"fmt"
	"math/rand/v2"
	"time"
)

// dice makes invented clubs. Equal seeds give equal clubs.
type dice struct{ *rand.Rand }

func newDice(seed uint64) dice { return dice{rand.New(rand.NewPCG(seed, 7))} }

func (r dice) chance(p float64) bool { return r.Float64() < p }

func (r dice) between(a, b int) int { return a + r.IntN(b-a+1) }

// testToday is the day before which invented clubs have their history.
var testToday = NewDate(2027, time.May, 20)

// club makes a club of one apiary with up to boxes boxes, all of whose
// openings are before today.
func (r dice) club(boxes int, today Date) *Club {
	c := &Club{ID: 1, Name: "Test Club", Rules: DefaultRules(), Members: []Member{
		{ID: 1, Name: "Ada Quill"}, {ID: 2, Name: "Ben Rowe"}, {ID: 3, Name: "Cy Thorn"},
	}}
	a := Apiary{
		ID: 5, Name: "Orchard", Latitude: 30 + 30*r.Float64(), Region: Continental, ElevationM: float64(r.IntN(900)),
		Keepers: []int64{2, 1},
	}
	if r.chance(0.2) {
		a.Latitude = -a.Latitude
	}
	if r.chance(0.5) {
		a.Weekdays = WeekdaySet(1 + r.IntN(127))
	}
	travel := []float64{0, 0.1, 0.5, 1, 2, 4}[r.IntN(6)]
	a.TravelHours = &travel
	for left, id := boxes, int64(0); left > 0; {
		h := Hive{ID: int64(len(a.Hives) + 11), Name: fmt.Sprintf("H%d", len(a.Hives)+1)}
		for range min(r.between(1, 4), left) {
			id++
			h.Boxes = append(h.Boxes, r.box(id, today))
		}
		left -= len(h.Boxes)
		a.Hives = append(a.Hives, h)
	}
	c.Apiaries = []Apiary{a}
	return c
}

func (r dice) box(id int64, today Date) Box {
	b := Box{ID: id, Name: fmt.Sprintf("B%d", id), Kind: "deep", SetUpOn: today - Date(r.between(1, 900))}
	for on := b.SetUpOn; ; {
		on += Date(r.between(15, 250))
		if on >= today {
			return b
		}
		b.Openings = append(b.Openings, Opening{
			ID: fmt.Sprintf("%d-%d", id, len(b.Openings)), On: on, Joint: Difficulty(r.IntN(4)),
			Frames: Difficulty(r.IntN(4) - 1), Scraped: []Scraped{ScrapedAll, ScrapedAll, ScrapedPart, ScrapedNone}[r.IntN(4)],
		})
	}
}

// rules changes the rules of c.
func (r dice) rules(c *Club) {
	s := &c.Rules
	s.OddsLimit = 0.02 + 0.88*r.Float64()
	s.MinDays, s.MaxDays, s.ResealDays = r.between(0, 60), r.between(61, 900), r.between(0, 60)
	s.NoticeDays, s.HoldHours = r.between(0, 60), 2*r.Float64()
	s.Hours.Open, s.Hours.Hard, s.Hours.Stuck = r.Float64(), r.Float64(), 5*r.Float64()
	for i := range s.Stages {
		s.Stages[i].Open = r.chance(0.7)
		s.Stages[i].Pace = 2 * r.Float64()
		s.Stages[i].Required = []Required{NothingRequired, NothingRequired, OpeningRequired, VisitRequired}[r.IntN(4)]
	}
	if r.chance(0.2) {
		c.Apiaries[0].Latitude = 20 * r.Float64()
	}
	s.LeadDays, s.SpringDays = r.between(0, 10), r.between(0, 40)
	s.Hours.Setup, s.Hours.Lift = r.Float64(), r.Float64()
}

// trouble adds days on which the apiary or a hive is out.
func (r dice) trouble(c *Club, today Date) {
	a := &c.Apiaries[0]
	span := func(longest int) Period {
		from := today + Date(r.between(-20, 300))
		return Period{From: from, Until: from + Date(r.between(0, longest)), Reason: "queen cells"}
	}
	for h := range a.Hives {
		if r.chance(0.3) {
			a.Hives[h].LeaveAlone = append(a.Hives[h].LeaveAlone, span(40))
		}
	}
	if r.chance(0.3) {
		a.NoGo = append(a.NoGo, span(60))
	}
	if r.chance(0.1) {
		a.Standstill = append(a.Standstill, span(60))
	}
	for m := range c.Members {
		if r.chance(0.4) {
			c.Members[m].NoGo = append(c.Members[m].NoGo, span(60))
		}
	}
}

// planned returns a planner that has read the only apiary of c.
func loaded(c *Club, today Date) *Planner {
	p := &Planner{}
	pr := &p.projection
	a := &c.Apiaries[0]
	pr.rules = newDueRules(c)
	pr.hours = newVisitHours(a, &c.Rules)
	pr.days.fill(a, c.Members, NewSeason(a.Place(), &c.Rules), today)
	pr.load(a, Replay(c, today))
	p.standing.sort(c.Visits, a.ID, pr.start, today, c.Rules.AnswerDays)
	pr.applyWaits(&p.standing)
	pr.applyRequests(p.standing.open, p.standing.fixed)
	pr.addDuties(c.Visits, p.standing.past)
	return p
}

// show writes a plan as text, for comparing and for messages.
func show(c *Club, p *Plan) string {
	out := ""
	for _, v := range p.Visits {
		out += fmt.Sprintf("%d %s %s seq %d %q %v pinned %v\n", v.ID, v.On.Format("Mon 2006-01-02"), v.Status, v.Sequence, v.For, v.Who, v.Pinned)
		for _, b := range v.Boxes {
			out += fmt.Sprintf("    %d due %s %s %.3f\n", b.BoxID, b.Due, b.Reason, b.Odds)
		}
	}
	for i := range p.Boxes {
		out += tersely(p, ExplainBox(c, p, &p.Boxes[i]).Text()) + "\n"
	}
	return out
}

// remember stores a plan in its club as a store would.
func remember(c *Club, p *Plan) {
	next := int64(1)
	byID := map[int64]int{}
	for i := range c.Visits {
		next = max(next, c.Visits[i].ID+1)
		byID[c.Visits[i].ID] = i
	}
	put := func(v Visit) {
		if v.ID == 0 {
			v.ID, v.UID = next, fmt.Sprintf("visit-%d", next)
			next++
		}
		if i, ok := byID[v.ID]; ok {
			c.Visits[i] = v
			return
		}
		byID[v.ID] = len(c.Visits)
		c.Visits = append(c.Visits, v)
	}
	for _, list := range [][]Visit{p.Past, p.Cancel, p.Visits} {
		for _, v := range list {
			put(v)
		}
	}
}
