package scheduler

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// opensOn reports from the records alone whether a hive may be opened on d.
func opensOn(c *Club, hive int, d Date) bool {
	a := &c.Apiaries[0]
	if !NewSeason(a.Place(), &c.Rules).MayOpen(d) {
		return false
	}
	for _, list := range [][]Period{a.NoGo, a.Standstill, a.Hives[hive].LeaveAlone} {
		for _, p := range list {
			if p.Contains(d) {
				return false
			}
		}
	}
	away := 0
	for _, id := range a.Keepers {
		if slices.ContainsFunc(c.Members[id-1].NoGo, func(p Period) bool { return p.Contains(d) }) {
			away++
		}
	}
	return len(a.Keepers) == 0 || away < len(a.Keepers)
}

// hardLimit returns the last day up to which a box last opened on from may
// wait whatever its odds are, and the first day of the stage that asks for it.
func hardLimit(c *Club, from, today Date) (limit, begins Date) {
	s := NewSeason(c.Apiaries[0].Place(), &c.Rules)
	limit = from + Date(c.Rules.MaxDays)
	for d := today; d < today+HorizonDays; {
		first, last := s.StageSpan(d)
		if c.Rules.Stages[s.Stage(d)].Required == OpeningRequired && first > from && last-first < 364 {
			if mid := first + (last-first)/2; mid < limit {
				return mid, first
			}
			break
		}
		d = last + 1
	}
	return limit, 0
}

// tooSoon returns what is wrong with the day on which a box is opened only for
// its odds, none of whose boxes is there for another reason: one of the first
// after winter.
func tooSoon(c *Club, hive int, v *Visit, vb VisitBox, limit Date) []string {
	s := NewSeason(c.Apiaries[0].Place(), &c.Rules)
	if s.n == 1 || slices.ContainsFunc(v.Boxes, func(o VisitBox) bool { return o.Reason == BecauseLongest || o.Reason == BecauseRequired }) {
		return nil
	}
	first, _ := s.StageSpan(v.On)
	spring := first + Date(c.Rules.SpringDays)
	due := first <= vb.Due && vb.Due < spring // or what is due before, which a closed winter lies behind
	due = due || vb.Due < first && !c.Rules.Stages[Winter].Open
	if s.Stage(v.On) != BuildUp || !due || v.For == VisitRequired {
		return nil
	}
	for d := spring; v.On < spring && d <= min(limit, spring+graceDays); d++ {
		if opensOn(c, hive, d) {
			return []string{fmt.Sprintf("box %d is opened for its odds on %s, within %d days of winter", vb.BoxID, v.On, c.Rules.SpringDays)}
		}
	}
	return nil
}

// breaches returns what is wrong with a plan that has no fixed visits.
func breaches(c *Club, p *Plan) []string {
	var out []string
	bad := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	a := &c.Apiaries[0]
	for i, v := range p.Visits {
		if i > 0 && v.On <= p.Visits[i-1].On {
			bad("visit on %s does not come after the one before", v.On)
		}
		if v.On < p.Today || v.On > p.Today+HorizonDays {
			bad("visit on %s is outside the plan", v.On)
		}
		if v.ID == 0 && v.On < p.Today+Date(c.Rules.LeadDays) {
			bad("a new visit on %s is sooner than %d days ahead", v.On, c.Rules.LeadDays)
		}
		if len(v.Boxes) == 0 && v.For != VisitRequired {
			bad("visit on %s has no purpose", v.On)
		}
	}
	n := 0
	for h := range a.Hives {
		boxes := a.Hives[h].Boxes
		for b := range boxes {
			state := p.Boxes[n]
			n++
			from := state.Since
			check := func(on Date, why Reason) { // on is the next opening; 0 for none
				limit, begins := hardLimit(c, from, p.Today)
				if on == 0 && limit > p.Today+HorizonDays {
					return
				}
				for d := max(p.Today+Date(c.Rules.LeadDays), from+Date(max(c.Rules.MinDays, 1)), begins); d <= min(limit, p.Today+HorizonDays); d++ {
					if opensOn(c, h, d) {
						if on == 0 || on > limit {
							bad("box %d opened %s waits until %q past %s although %s is allowed", state.BoxID, from, on, limit, d)
						}
						break
					}
				}
				if on != 0 && why == BecauseRequired && on < begins {
					bad("box %d, which a stage asks for, is opened on %s, before the stage begins on %s", state.BoxID, on, begins)
				}
				if on != 0 && why != BecauseAbove && on < from+Date(c.Rules.MinDays) {
					bad("box %d opened %s is opened again on %s for %s", state.BoxID, from, on, why)
				}
			}
			for _, v := range p.Visits {
				at := slices.IndexFunc(v.Boxes, func(vb VisitBox) bool { return vb.BoxID == state.BoxID })
				if at < 0 {
					continue
				}
				if !opensOn(c, h, v.On) {
					bad("box %d is opened on %s, which is not allowed", state.BoxID, v.On)
				}
				if limit, _ := hardLimit(c, from, p.Today); v.Boxes[at].Reason == BecauseOdds {
					out = append(out, tooSoon(c, h, &v, v.Boxes[at], limit)...)
				}
				check(v.On, v.Boxes[at].Reason)
				from = v.On
				if b+1 < len(boxes) && boxes[b+1].SetUpOn <= v.On &&
					(at == 0 || v.Boxes[at-1].BoxID != boxes[b+1].ID) {
					bad("box %d is opened on %s but not the one above it just before", state.BoxID, v.On)
				}
			}
			check(0, "")
		}
	}
	return out
}

func TestPlansKeepTheRules(t *testing.T) {
	var planner Planner
	visits, closed := 0, 0
	for seed := range uint64(900) {
		r := newDice(seed)
		today := testToday + Date(r.IntN(365))
		c := r.club(r.between(0, 14), today)
		if r.chance(0.6) {
			r.trouble(c, today)
		}
		if r.chance(0.4) {
			r.rules(c)
		}
		p := planner.PlanClub(c, today)
		if b := breaches(c, p); len(b) > 0 {
			t.Fatalf("seed %d, today %s:\n%s\n%s", seed, today, strings.Join(b, "\n"), show(c, p))
		}
		if fresh := PlanApiary(c, 5, today); show(c, fresh) != show(c, p) {
			t.Fatalf("seed %d: used and fresh planners differ:\n%s\n%s", seed, show(c, p), show(c, fresh))
		}
		visits += len(p.Visits)
		for i := range p.Boxes {
			if p.Boxes[i].Moved != "" {
				closed++
			}
		}
	}
	if visits < 3000 || closed < 200 {
		t.Errorf("%d visits and %d moved due days: the cases are too easy", visits, closed)
	}
}

func TestEveryBoxComesUpWithinAYear(t *testing.T) {
	for seed := range uint64(300) {
		r := newDice(seed)
		today := testToday + Date(r.IntN(365))
		c := r.club(r.between(1, 14), today)
		p := PlanClub(c, today)
		for _, b := range p.Boxes {
			if !slices.ContainsFunc(p.Visits, func(v Visit) bool {
				return slices.ContainsFunc(v.Boxes, func(vb VisitBox) bool { return vb.BoxID == b.BoxID })
			}) {
				t.Fatalf("seed %d: box %d is on no visit:\n%s", seed, b.BoxID, show(c, p))
			}
		}
	}
}

// stand makes a club of one apiary at 44 degrees north with a hive for each
// list of openings; every hive has one box that was set up on the day given.
func stand(setUp Date, openings ...[]Opening) *Club {
	c := &Club{ID: 1, Name: "Test Club", Rules: DefaultRules(), Members: []Member{
		{ID: 1, Name: "Ada Quill"}, {ID: 2, Name: "Ben Rowe"},
	}}
	a := Apiary{ID: 5, Name: "Orchard", Latitude: 44, Region: Continental, Keepers: []int64{1, 2}}
	for i, list := range openings {
		id := int64(i + 1)
		a.Hives = append(a.Hives, Hive{ID: 10 + id, Name: fmt.Sprintf("H%d", id), Boxes: []Box{
			{ID: id, Name: fmt.Sprintf("B%d", id), Kind: "deep", SetUpOn: setUp, Openings: list},
		}})
	}
	c.Apiaries = []Apiary{a}
	return c
}

// opened is one opening that was scraped clean.
func opened(on string, how Difficulty) Opening {
	return Opening{ID: on, On: date(on), Joint: how, Frames: NotTried, Scraped: ScrapedAll}
}

func date(s string) Date {
	d, err := ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

func dates(p *Plan) string {
	out := ""
	for _, v := range p.Visits {
		out += v.On.String() + " "
	}
	return strings.TrimSpace(out)
}

func TestApiariesWithNothingToOpen(t *testing.T) {
	today := date("2027-05-20")
	always := []Period{{From: today - 10, Reason: "lambing"}}
	tests := []struct {
		name  string
		club  func(*Club)
		alone LeftAlone // of the first box
	}{
		{"no hives", func(c *Club) { c.Apiaries[0].Hives = nil }, LeftAlone{}},
		{"no boxes", func(c *Club) { c.Apiaries[0].Hives[0].Boxes = nil }, LeftAlone{}},
		{"the hive is retired", func(c *Club) { c.Apiaries[0].Hives[0].RetiredOn = today }, LeftAlone{Why: HiveRetired}},
		{"the box is retired", func(c *Club) { c.Apiaries[0].Hives[0].Boxes[0].RetiredOn = today }, LeftAlone{Why: BoxRetired}},
		{"a standstill without end", func(c *Club) { c.Apiaries[0].Standstill = always }, LeftAlone{Why: ClosedStandstill, Words: "lambing"}},
		{"the landowner's no-go without end", func(c *Club) { c.Apiaries[0].NoGo = always }, LeftAlone{Why: NoneOpenable}},
		{"every keeper away without end", func(c *Club) { c.Members[0].NoGo, c.Members[1].NoGo = always, always }, LeftAlone{Why: NoneOpenable}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := stand(today-400, []Opening{opened("2026-08-01", Firm)})
			tt.club(c)
			p := PlanClub(c, today)
			if len(p.Visits) != 0 {
				t.Errorf("visits on %s, want none", dates(p))
			}
			if len(p.Boxes) > 0 && p.Boxes[0].LeftAlone != tt.alone {
				t.Errorf("left alone because %+v, want %+v", p.Boxes[0].LeftAlone, tt.alone)
			}
		})
	}
}

func TestFirstVisit(t *testing.T) {
	old, lately := []Opening{opened("2024-06-01", Hard)}, []Opening{opened("2027-05-10", Light)}
	away := []Period{{From: date("2027-05-20"), Until: date("2027-05-25")}}
	tests := []struct {
		name string
		club func(*Club)
		want string
	}{
		{"overdue for years", nil, "2027-05-22"},
		{"overdue and the keepers come on Saturdays", func(c *Club) { c.Apiaries[0].Weekdays = 1 << 6 }, "2027-05-22"},
		{"one keeper of two away", func(c *Club) { c.Members[0].NoGo = away }, "2027-05-22"},
		{"both keepers away", func(c *Club) { c.Members[0].NoGo, c.Members[1].NoGo = away, away }, "2027-05-26"},
		{"away, but not a keeper of this apiary", func(c *Club) { c.Apiaries[0].Keepers, c.Members[0].NoGo = nil, away }, "2027-05-22"},
		{"queen cells", func(c *Club) { c.Apiaries[0].Hives[0].LeaveAlone = away }, "2027-05-26"},
		{"queen cells for three days more", func(c *Club) {
			c.Apiaries[0].Hives[0].LeaveAlone = []Period{{From: date("2027-05-10"), Until: date("2027-05-23")}}
		}, "2027-05-24"},
		{"the landowner's days", func(c *Club) { c.Apiaries[0].NoGo = away }, "2027-05-26"},
		{"a standstill", func(c *Club) { c.Apiaries[0].Standstill = away }, "2027-05-26"},
		{"no weekday before the hive is left alone", func(c *Club) {
			c.Apiaries[0].Weekdays = 1 << 5
			c.Apiaries[0].Hives[0].LeaveAlone = []Period{{From: date("2027-05-26"), Until: date("2027-06-30")}}
		}, "2027-05-22"},
		{"the club wants a week", func(c *Club) { c.Rules.LeadDays = 7 }, "2027-05-27"},
		{"the club wants none", func(c *Club) { c.Rules.LeadDays = 0 }, "2027-05-20"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := stand(date("2024-04-01"), old, lately)
			if tt.club != nil {
				tt.club(c)
			}
			p := PlanClub(c, date("2027-05-20"))
			v := p.Visits[0]
			if v.On.String() != tt.want || len(v.Boxes) != 1 || v.Boxes[0].BoxID != 1 || v.Status != Confirmed {
				t.Errorf("got\n%s\nwant box 1 on %s", show(c, p), tt.want)
			}
			if !p.Boxes[0].Overdue {
				t.Error("the box is not overdue")
			}
		})
	}
}

func TestABoxSetUpLaterIsNotOpenedBefore(t *testing.T) {
	today := date("2027-05-20")
	c := stand(today-600, []Opening{opened("2026-04-20", Hard)}) // overdue
	c.Apiaries[0].Hives[0].Boxes = append(c.Apiaries[0].Hives[0].Boxes, Box{ID: 9, Name: "new", SetUpOn: date("2027-07-30")})
	p := PlanClub(c, today)
	seen := false
	for _, v := range p.Visits {
		for _, b := range v.Boxes {
			if b.BoxID == 9 && v.On < date("2027-07-30") {
				t.Errorf("box 9 is opened on %s, before it is there", v.On)
			}
			seen = seen || b.BoxID == 9
		}
	}
	if !seen {
		t.Error("box 9 is never opened")
	}
}

func TestAutumnVisit(t *testing.T) {
	// Every box was opened at the end of August: nothing is due before spring.
	lately := []Opening{opened("2027-08-30", Loose)}
	today := date("2027-09-05")
	autumn := func(c *Club) (first, winter Date) {
		s := NewSeason(c.Apiaries[0].Place(), &c.Rules).Starts(2027)
		return s[Autumn], s[Winter]
	}
	visit := func(on Date, status VisitStatus) []Visit {
		return []Visit{{ID: 1, UID: "a", ApiaryID: 5, On: on, Status: status}}
	}
	tests := []struct {
		name string
		club func(*Club, Date, Date)
		want int // visits in autumn
	}{
		{"asked for", func(*Club, Date, Date) {}, 1},
		{"not asked for", func(c *Club, _, _ Date) { c.Rules.Stages[Autumn].Required = NothingRequired }, 0},
		{"made without opening anything", func(c *Club, first, _ Date) { c.Visits = visit(first, Done) }, 0},
		{"cancelled", func(c *Club, first, _ Date) { c.Visits = visit(first, Cancelled) }, 1},
		{"made at another apiary", func(c *Club, first, _ Date) {
			c.Visits = visit(first, Done)
			c.Visits[0].ApiaryID = 6
		}, 1},
		{"made before autumn", func(c *Club, first, _ Date) { c.Visits = visit(first-3, Done) }, 1},
		{"only the days before winter are free", func(c *Club, first, winter Date) {
			c.Apiaries[0].NoGo = []Period{{From: today, Until: winter - 10}}
		}, 1},
		{"no day of it is free", func(c *Club, first, winter Date) {
			c.Apiaries[0].NoGo = []Period{{From: today, Until: winter}}
		}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := stand(date("2026-05-01"), lately, lately)
			first, winter := autumn(c)
			tt.club(c, first, winter)
			on := today
			if first <= on {
				t.Fatalf("autumn starts on %s: the test is about days before it", first)
			}
			p := PlanApiary(c, 5, on)
			n := 0
			for _, v := range p.Visits {
				if first <= v.On && v.On < winter {
					n++
					if v.For != VisitRequired || len(v.Boxes) > 0 {
						t.Errorf("visit for %q with %d boxes, want one that opens nothing", v.For, len(v.Boxes))
					}
				}
			}
			if n != tt.want {
				t.Errorf("%d visits in autumn, want %d:\n%s", n, tt.want, show(c, p))
			}
		})
	}
}

func TestVisitsFallOnTheKeepersWeekdays(t *testing.T) {
	for seed := range uint64(200) {
		r := newDice(seed)
		today := testToday + Date(r.IntN(365))
		c := r.club(r.between(1, 12), today)
		a := &c.Apiaries[0]
		a.Weekdays = 1 << r.IntN(7)
		p := PlanClub(c, today)
		last := map[int64]Date{}
		for _, b := range p.Boxes {
			last[b.BoxID] = b.Since
		}
		for _, v := range p.Visits {
			rested := map[int64]Date{}
			for _, b := range v.Boxes {
				rested[b.BoxID] = last[b.BoxID] + Date(c.Rules.MinDays)
				last[b.BoxID] = v.On
			}
			if a.Weekdays.Has(v.On.Weekday()) || len(v.Boxes) == 0 {
				continue
			}
			// allowed only for want of such a day: some box has less than a week
			s := NewSeason(a.Place(), &c.Rules)
			free := func(d Date) bool { return a.Weekdays.Has(d.Weekday()) && s.MayOpen(d) }
			tight := false
			for _, b := range v.Boxes {
				usual := false
				for d := max(today+Date(c.Rules.LeadDays), v.On-6, rested[b.BoxID]); d <= min(b.Due, v.On); d++ {
					usual = usual || free(d)
				}
				tight = tight || !usual
			}
			if !tight {
				t.Errorf("seed %d: a visit on %s, though all its boxes could be opened on a usual day", seed, v.On)
			}
		}
	}
}

// Where nobody is short of time, apiaries do not take part in each other's
// plans.
func TestApiariesOfAClubPlanAsTheyDoAlone(t *testing.T) {
	for seed := range uint64(30) {
		r := newDice(seed)
		c := r.club(6, testToday)
		c.Rules.Capacity = Capacity{HoursADay: 24, VisitsAWeek: 50}
		for n := int64(1); n < 4; n++ {
			a := r.club(r.between(0, 8), testToday).Apiaries[0]
			a.ID += n
			for h := range a.Hives {
				a.Hives[h].ID += 100 * n
				for b := range a.Hives[h].Boxes {
					a.Hives[h].Boxes[b].ID += 1000 * n
				}
			}
			c.Apiaries = append(c.Apiaries, a)
		}
		remember(c, PlanClub(c, testToday-20))
		whole := PlanClub(c, testToday)
		for i, last := 1, Date(0); i < len(whole.Visits); i++ {
			if whole.Visits[i].On < last {
				t.Fatalf("seed %d: visits are out of order", seed)
			}
			last = whole.Visits[i].On
		}
		part := &Plan{Today: testToday}
		for _, a := range c.Apiaries {
			p := PlanApiary(c, a.ID, testToday)
			part.Visits = append(part.Visits, p.Visits...)
			part.Boxes = append(part.Boxes, p.Boxes...)
			part.Cancel = append(part.Cancel, p.Cancel...)
			part.Past = append(part.Past, p.Past...)
		}
		part.sort()
		if got, want := show(c, part), show(c, whole); got != want || len(part.Cancel) != len(whole.Cancel) || len(part.Past) != len(whole.Past) {
			t.Fatalf("seed %d: alone\n%s\nin the club\n%s", seed, got, want)
		}
	}
	if p := PlanApiary(newDice(1).club(3, testToday), 99, testToday); len(p.Visits)+len(p.Boxes) > 0 {
		t.Error("an unknown apiary has a plan")
	}
}

// TestNoBoxIsOpenedThatMayWait: on a visit that has another purpose, a box with
// none to be opened below it stays shut when it is due no sooner than the next
// visit. Few do all the same: leaving out a box can move the next visit.
func TestNoBoxIsOpenedThatMayWait(t *testing.T) {
	idle, all := 0, 0
	for seed := range uint64(150) {
		r := newDice(seed)
		today := testToday + Date(r.IntN(365))
		c := r.club(r.between(1, 10), today)
		if r.chance(0.5) {
			r.trouble(c, today)
		}
		p := PlanClub(c, today)
		for i := range len(p.Visits) - 1 {
			v, next := &p.Visits[i], &p.Visits[i+1]
			mayWait, purpose := 0, v.For == VisitRequired
			for h := range c.Apiaries[0].Hives {
				lowest := false // of this hive's, the last that the visit opens may wait
				for _, vb := range v.Boxes {
					if c.Apiaries[0].Hives[h].Box(vb.BoxID) != nil {
						lowest = vb.Due >= next.On && opensOn(c, h, next.On)
						purpose = purpose || !lowest
					}
				}
				if lowest {
					mayWait++
				}
			}
			all += len(v.Boxes)
			if purpose {
				idle += mayWait
			}
		}
	}
	if all < 2500 || idle*1000 > all {
		t.Errorf("%d of %d boxes are opened that may wait for the next visit", idle, all)
	}
}
