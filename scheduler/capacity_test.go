package scheduler

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// region makes a club of n apiaries of up to boxes boxes each in one region.
// Who looks after each is left open.
func (r dice) region(n, boxes int) *Club {
	var out *Club
	for i := range n {
		c := r.club(r.between(1, boxes), testToday)
		a := &c.Apiaries[0]
		a.ID, a.Name, a.Weekdays, a.TravelHours = int64(i+1), fmt.Sprintf("Place %d", i+1), 0, nil
		a.Latitude, a.Longitude = 44+r.Float64()/4, 10+r.Float64()/4
		for h := range a.Hives {
			a.Hives[h].ID += int64(i) * 1000
			for b := range a.Hives[h].Boxes {
				box := &a.Hives[h].Boxes[b]
				box.ID += int64(i) * 1000
				for o := range box.Openings {
					box.Openings[o].ID += fmt.Sprintf("-%d", i)
				}
			}
		}
		if out == nil {
			out = c
			continue
		}
		out.Apiaries = append(out.Apiaries, *a)
	}
	return out
}

// keptBy lets members look after every apiary of c.
func keptBy(c *Club, members ...int64) *Club {
	for i := range c.Apiaries {
		c.Apiaries[i].Keepers = members
	}
	return c
}

// day is one person's day, or week where only the visits count.
type personDay struct {
	member int64
	on     Date
}

// asks is what a plan asks of people, worked out beside the planner: of the
// hours of work and of the journeys of a visit that somebody took, or is asked
// to make; of two apiaries of a trip the farther journey counts.
type asks struct {
	hours  map[personDay]float64
	visits map[personDay]int // by the Monday of the week
	calls  map[personDay][]*Visit
	crew   map[*Visit]int // how many a visit counts against
}

func asksOf(c *Club, plan *Plan) asks {
	out := asks{map[personDay]float64{}, map[personDay]int{}, map[personDay][]*Visit{}, map[*Visit]int{}}
	trips := map[personDay]map[string]float64{}
	for i := range plan.Visits {
		v := &plan.Visits[i]
		a := c.Apiary(v.ApiaryID)
		crew := v.Taken
		for n := 1; len(crew) == 0 && n <= len(v.Who); n++ {
			share := a.travel(&c.Rules) + c.Rules.Hours.Setup + workOn(c, v)/float64(n)
			tooLong := func(id int64) bool { return share > c.Rules.Gives(c.Member(id)).HoursADay+1e-6 }
			if n == len(v.Who) || !slices.ContainsFunc(v.Who[:n], tooLong) {
				crew = v.Who[:n]
			}
		}
		out.crew[v] = len(crew)
		for _, id := range crew {
			key := personDay{id, v.On}
			out.hours[key] += c.Rules.Hours.Setup + workOn(c, v)/float64(len(crew))
			out.visits[personDay{id, v.On - Date((v.On.Weekday()+6)%7)}]++
			out.calls[key] = append(out.calls[key], v)
			if trips[key] == nil {
				trips[key] = map[string]float64{}
			}
			trip := a.Trip
			if trip == "" {
				trip = "alone " + a.Name
			}
			trips[key][trip] = max(trips[key][trip], a.travel(&c.Rules))
		}
	}
	for key, of := range trips {
		for _, travel := range of {
			out.hours[key] += travel
		}
	}
	return out
}

// workOn returns the hours of work that a visit is expected to be.
func workOn(c *Club, v *Visit) float64 {
	return ExpectedHours(c, v) - c.Apiary(v.ApiaryID).travel(&c.Rules) - c.Rules.Hours.Setup
}

// tooMuch lists what is asked of people beyond what they give. A visit that
// somebody took or pinned may be too much by itself, but then nobody is asked
// for any other on that day or, beyond the week's visits, in that week. One whose
// prying alone is too long for a day may be on a day of its own.
func (k asks) tooMuch(c *Club) []string {
	var out []string
	free := func(key personDay) bool {
		return slices.ContainsFunc(k.calls[key], func(v *Visit) bool { return !v.staysPut() })
	}
	for key, hours := range k.hours {
		gives := c.Rules.Gives(c.Member(key.member))
		light := hours
		if calls := k.calls[key]; len(calls) == 1 {
			light -= (workOn(c, calls[0]) - c.Rules.Hours.Open*float64(len(calls[0].Boxes))) / float64(k.crew[calls[0]])
		}
		if light > gives.HoursADay+1e-6 && free(key) {
			out = append(out, fmt.Sprintf("member %d, %s: %.2f of %.2f hours", key.member, key.on, hours, gives.HoursADay))
			for _, v := range k.calls[key] {
				out = append(out, fmt.Sprintf("    apiary %d: %d boxes, asked %v, taken %v, pinned %v", v.ApiaryID, len(v.Boxes), v.Who, v.Taken, v.Pinned))
			}
		}
		if !gives.Weekdays.Has(key.on.Weekday()) && free(key) {
			out = append(out, fmt.Sprintf("member %d goes on %s", key.member, key.on.Format("Mon 2006-01-02")))
		}
	}
	for key, n := range k.visits {
		inWeek := false
		for d := range Date(7) {
			inWeek = inWeek || free(personDay{key.member, key.on + d})
		}
		if most := c.Rules.Gives(c.Member(key.member)).VisitsAWeek; n > most && inWeek {
			out = append(out, fmt.Sprintf("member %d, week of %s: %d of %d visits", key.member, key.on, n, most))
		}
	}
	slices.Sort(out)
	return out
}

// breachesOf is breaches of each apiary.
func breachesOf(c *Club, plan *Plan) []string {
	var out []string
	for i := range c.Apiaries {
		one, part := *c, &Plan{Today: plan.Today}
		one.Apiaries = c.Apiaries[i : i+1]
		for _, v := range plan.Visits {
			if v.ApiaryID == c.Apiaries[i].ID {
				part.Visits = append(part.Visits, v)
			}
		}
		for _, b := range plan.Boxes {
			if b.ApiaryID == c.Apiaries[i].ID {
				part.Boxes = append(part.Boxes, b)
			}
		}
		out = append(out, breaches(&one, part)...)
	}
	return out
}

func unasked(p *Plan) (n int) {
	for _, v := range p.Visits {
		if len(v.Who) == 0 {
			n++
		}
	}
	return n
}

func TestFortyApiariesOfOneMember(t *testing.T) {
	c := keptBy(newDice(4).region(40, 8), 1)
	plan := PlanClub(c, testToday)
	k := asksOf(c, plan)
	if wrong := k.tooMuch(c); len(wrong) > 0 {
		t.Errorf("more is asked than one member gives:\n%s", strings.Join(wrong, "\n"))
	}
	for key, calls := range k.calls {
		if len(calls) > 3 {
			t.Errorf("%d visits on %s", len(calls), key.on)
		}
	}
	if b := breachesOf(c, plan); len(b) > 0 {
		t.Errorf("rules are broken:\n%s", strings.Join(b, "\n"))
	}
	// What one member gives in the weeks in which boxes may be opened is used
	// before anything is left to nobody.
	if asked := len(plan.Visits) - unasked(plan); asked < 150 || unasked(plan) == 0 {
		t.Errorf("%d visits, of which nobody makes %d: the case is too easy, or too little is asked", len(plan.Visits), unasked(plan))
	}
}

// drawRegion draws a club in which people are short of time, with wishes of
// their own, trips and visits that people took or pinned.
func drawRegion(t *rapid.T, peopleSpeak bool) *Club {
	r := newDice(rapid.Uint64Range(0, 1<<32).Draw(t, "seed"))
	c := r.region(rapid.IntRange(2, 10).Draw(t, "apiaries"), rapid.IntRange(2, 18).Draw(t, "boxes"))
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		a.Keepers = [][]int64{{1}, {2}, {1, 2}, {3, 1, 2}, nil}[rapid.IntRange(0, 4).Draw(t, "keepers")]
		a.Trip = []string{"", "", "valley", "ridge"}[rapid.IntRange(0, 3).Draw(t, "trip")]
		if rapid.Bool().Draw(t, "own journey") {
			hours := float64(rapid.IntRange(0, 12).Draw(t, "journey")) / 4
			a.TravelHours = &hours
		}
	}
	for i := range c.Members {
		p := &c.Members[i].Prefs
		p.HoursADay = float64(rapid.IntRange(0, 10).Draw(t, "hours"))
		p.VisitsAWeek = rapid.IntRange(0, 3).Draw(t, "visits")
		p.Weekdays = WeekdaySet(rapid.IntRange(0, 127).Draw(t, "weekdays"))
	}
	if rapid.Bool().Draw(t, "trouble") {
		r.trouble(c, testToday)
	}
	remember(c, PlanClub(c, testToday))
	if !peopleSpeak {
		return c
	}
	for i := range c.Visits {
		v := &c.Visits[i]
		switch rapid.IntRange(0, 12).Draw(t, "word") {
		case 12:
			_ = v.Take(int64(rapid.IntRange(1, 3).Draw(t, "by")))
		case 1:
			_ = v.Move(v.On + Date(rapid.IntRange(-3, 9).Draw(t, "days")))
		case 2:
			_ = v.HandOff(1)
		}
		v.On = max(v.On, testToday)
	}
	return c
}

func TestNobodyIsAskedForMoreThanTheyGive(t *testing.T) {
	lacking, asked := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		c := drawRegion(t, rapid.Bool().Draw(t, "people speak"))
		var planner Planner
		plan := planner.PlanClub(c, testToday)
		if wrong := asksOf(c, plan).tooMuch(c); len(wrong) > 0 {
			t.Fatalf("more is asked than people give:\n%s", strings.Join(wrong, "\n"))
		}
		if fixed := slices.ContainsFunc(plan.Visits, func(v Visit) bool { return v.staysPut() }); !fixed {
			if b := breachesOf(c, plan); len(b) > 0 {
				t.Fatalf("rules are broken:\n%s", strings.Join(b, "\n"))
			}
		}
		lacking, asked = lacking+unasked(plan), asked+len(plan.Visits)
		// Whoever is planned alone fits in as well.
		remember(c, plan)
		one := c.Apiaries[rapid.IntRange(0, len(c.Apiaries)-1).Draw(t, "one")].ID
		remember(c, planner.PlanApiary(c, one, testToday))
		open := slices.DeleteFunc(slices.Clone(c.Visits), func(v Visit) bool { return !v.Status.Open() })
		if wrong := asksOf(c, &Plan{Visits: open}).tooMuch(c); len(wrong) > 0 {
			t.Fatalf("more is asked than people give after apiary %d alone:\n%s", one, strings.Join(wrong, "\n"))
		}
	})
	if lacking == 0 || lacking > asked*9/10 {
		t.Errorf("nobody is asked for %d of %d visits: the cases are too easy or too hard", lacking, asked)
	}
}

func TestPlanningShortOfTimeTwiceChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawRegion(t, false)
		again := PlanClub(c, testToday)
		was := standingPlan(c, again)
		if len(again.Cancel) > 0 || show(c, was) != show(c, again) {
			t.Fatalf("%d cancelled; what was and what is:\n%s", len(again.Cancel), differing(show(c, was), show(c, again)))
		}
	})
}

// differing lists the lines that two texts do not share.
func differing(was, is string) string {
	a, b := strings.Split(was, "\n"), strings.Split(is, "\n")
	var out []string
	for _, line := range a {
		if !slices.Contains(b, line) {
			out = append(out, "- "+line)
		}
	}
	for _, line := range b {
		if !slices.Contains(a, line) {
			out = append(out, "+ "+line)
		}
	}
	return strings.Join(out, "\n")
}

// TestEnoughTimeMovesNothing: where people have time for the plan that would be
// made without asking whether they have, it is that plan, but for the horizon's
// last weeks.
func TestEnoughTimeMovesNothing(t *testing.T) {
	easy := 0
	rapid.Check(t, func(t *rapid.T) {
		r := newDice(rapid.Uint64Range(0, 1<<32).Draw(t, "seed"))
		c := r.region(rapid.IntRange(1, 6).Draw(t, "apiaries"), 20)
		for i := range c.Apiaries {
			c.Apiaries[i].Keepers = [][]int64{{1}, {2}, {1, 2}, {3, 1, 2}}[rapid.IntRange(0, 3).Draw(t, "keepers")]
			c.Apiaries[i].Weekdays = WeekdaySet(rapid.IntRange(0, 127).Draw(t, "weekdays"))
		}
		if rapid.Bool().Draw(t, "trouble") {
			r.trouble(c, testToday)
		}
		c.Rules.Capacity.HoursADay = 30
		endless := *c
		endless.Rules.Capacity = Capacity{HoursADay: math.MaxInt32, VisitsAWeek: math.MaxInt32}
		free := PlanClub(&endless, testToday)
		spare := *c // planning counts boxes as well that wait for a following visit in the end, with all the prying of them
		spare.Rules.Capacity.HoursADay -= 20
		if len(asksOf(c, free).tooMuch(&spare)) > 0 {
			return
		}
		easy++
		got := PlanClub(c, testToday)
		for _, p := range []*Plan{got, free} {
			// At the end of the horizon a visit may find its day beyond it.
			p.Visits = slices.DeleteFunc(p.Visits, func(v Visit) bool { return v.On > testToday+HorizonDays-45 })
			for i := range p.Visits {
				p.Visits[i].Who = p.Visits[i].Who[:1] // who else has time may be fewer
			}
		}
		if show(c, got) != show(c, free) {
			t.Fatalf("with time enough the plan is not the one without asking:\n%s", differing(show(c, free), show(c, got)))
		}
	})
	if easy < 20 {
		t.Errorf("only in %d cases people have time enough", easy)
	}
}

// TestHoursOf: of one trip only the farthest journey is paid (common practice,
// no source: whoever goes to the farther one comes past the nearer).
func TestHoursOf(t *testing.T) {
	at := func(id int64, trip string, north, travel float64) stop {
		return stop{id, 44 + north/111.2, 10, trip, travel, 0} // 111.2 km to a degree of latitude
	}
	for _, tt := range []struct {
		name  string
		calls []call
		more  *call
		want  float64
	}{
		{"none", nil, nil, 0},
		{"one", []call{{at(1, "", 0, 2), 1}}, nil, 3},
		{"two far apart", []call{{at(1, "", 0, 2), 1}, {at(2, "", 30, 1.5), 1}}, nil, 5.5},
		{"two near one another", []call{{at(1, "", 0, 2), 1}, {at(2, "", 4, 1.5), 1}}, nil, 4},
		{"the nearer one first", []call{{at(2, "", 4, 1.5), 1}}, &call{at(1, "", 0, 2), 1}, 4},
		{"just too far", []call{{at(1, "", 0, 2), 1}, {at(2, "", 5.1, 1.5), 1}}, nil, 5.5},
		{"far apart and named as one", []call{{at(1, "valley", 0, 2), 1}, {at(2, "valley", 90, 1.5), 1}}, nil, 4},
		{"near and named as two", []call{{at(1, "valley", 0, 2), 1}, {at(2, "ridge", 1, 1.5), 1}}, nil, 5.5},
		{"near and only one named", []call{{at(1, "valley", 0, 2), 1}, {at(2, "", 1, 1.5), 1}}, nil, 5.5},
		{"three of one and one of none", []call{{at(1, "valley", 0, 2), 1}, {at(2, "valley", 0, 2), 1}, {at(3, "valley", 0, 1), 1}}, &call{at(4, "", 90, 0.5), 1}, 6.5},
	} {
		if got := hoursOf(tt.calls, tt.more, 5); math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("%s: %v hours, want %v", tt.name, got, tt.want)
		}
	}
}

// twins is a club of two apiaries that are alike, with one firm box each that
// is due on the same day, looked after by member 1.
func twins() *Club {
	c := stand(testToday-300, []Opening{opened("2027-04-20", Firm)})
	c.Apiaries[0].ID, c.Apiaries[0].Keepers = 1, []int64{1}
	second := stand(testToday-300, []Opening{opened("2027-04-20", Firm)}).Apiaries[0]
	second.ID, second.Name, second.Keepers = 2, "Garden", []int64{1}
	second.Hives[0].ID, second.Hives[0].Boxes[0].ID = 22, 2
	c.Apiaries = append(c.Apiaries, second)
	return c
}

// firstAt returns the first visit of a plan to an apiary.
func firstAt(p *Plan, apiary int64) *Visit {
	i := slices.IndexFunc(p.Visits, func(v Visit) bool { return v.ApiaryID == apiary })
	return &p.Visits[i]
}

func TestWhoCanGoWhen(t *testing.T) {
	usual := firstAt(PlanClub(twins(), testToday), 1).On
	two, both := firstAt(PlanClub(twins(), testToday), 2), []int64{1, 2}
	all := PlanClub(twins(), testToday).Visits
	spring := all[len(all)-1].On
	if two.On != usual || usual < testToday+30 {
		t.Fatalf("the twins are due on %s and %s", usual, two.On)
	}
	for _, tt := range []struct {
		name  string
		given func(*Club)
		want  func(*Plan) bool
	}{
		{"time for both on a day", func(*Club) {}, func(p *Plan) bool {
			return firstAt(p, 1).On == usual && firstAt(p, 2).On == usual
		}},
		{"hours for one", func(c *Club) { c.Members[0].Prefs.HoursADay = 3 }, func(p *Plan) bool {
			return firstAt(p, 1).On == usual && firstAt(p, 2).On == usual-1 && len(firstAt(p, 2).Who) == 1
		}},
		{"hours for one, and the other is likelier to be hard", func(c *Club) {
			c.Members[0].Prefs.HoursADay = 3
			c.Apiaries[1].Hives[0].Boxes[0].Openings[0].Joint = Hard
			c.Apiaries[1].Hives[0].Boxes[0].Openings[0].On -= 5
		}, func(p *Plan) bool {
			return firstAt(p, 1).On != firstAt(p, 2).On && firstAt(p, 2).On < firstAt(p, 1).On
		}},
		{"hours for one, and one trip", func(c *Club) {
			c.Members[0].Prefs.HoursADay = 3.5
			c.Apiaries[0].Trip, c.Apiaries[1].Trip = "valley", "valley"
		}, func(p *Plan) bool {
			return firstAt(p, 1).On == usual && firstAt(p, 2).On == usual && slices.Equal(firstAt(p, 2).Who, []int64{1})
		}},
		{"hours for one, and near one another", func(c *Club) {
			c.Members[0].Prefs.HoursADay = 3.5
			c.Rules.Capacity.SameTripKM = 1
		}, func(p *Plan) bool { return firstAt(p, 1).On == usual && firstAt(p, 2).On == usual }},
		{"one visit a week", func(c *Club) { c.Members[0].Prefs.VisitsAWeek = 1 }, func(p *Plan) bool {
			return firstAt(p, 1).On == usual && monday(firstAt(p, 2).On) < monday(usual)
		}},
		{"one weekday", func(c *Club) { c.Members[0].Prefs.Weekdays = 1 << time.Wednesday }, func(p *Plan) bool {
			return firstAt(p, 1).On.Weekday() == time.Wednesday && firstAt(p, 2).On.Weekday() == time.Wednesday && firstAt(p, 1).On <= usual
		}},
		{"the rules say the weekday", func(c *Club) { c.Rules.Capacity.Weekdays = 1 << time.Wednesday }, func(p *Plan) bool {
			return firstAt(p, 1).On.Weekday() == time.Wednesday && len(firstAt(p, 1).Who) == 1
		}},
		{"no day is long enough", func(c *Club) { c.Members[0].Prefs.HoursADay = 1.9 }, func(p *Plan) bool {
			return firstAt(p, 1).On == usual && firstAt(p, 2).On == usual && unasked(p) == len(p.Visits)
		}},
		{"a day long enough for a look, and for no box", func(c *Club) { c.Members[0].Prefs.HoursADay = 2.25 }, func(p *Plan) bool {
			return !slices.ContainsFunc(p.Visits, func(v Visit) bool { return (len(v.Who) == 0) != (len(v.Boxes) > 0) })
		}},
		{"another has room", func(c *Club) {
			c.Members[0].Prefs.HoursADay = 3
			c.Apiaries[0].Keepers, c.Apiaries[1].Keepers = both, both
		}, func(p *Plan) bool {
			return firstAt(p, 1).On == usual && firstAt(p, 2).On == usual &&
				slices.Equal(firstAt(p, 1).Who, both) && slices.Equal(firstAt(p, 2).Who, []int64{2})
		}},
		{"somebody took the other one", func(c *Club) {
			c.Members[0].Prefs.HoursADay = 3
			c.Visits = []Visit{{ID: 7, UID: "u7", ApiaryID: 2, On: usual, Status: Confirmed, Who: []int64{1}, Taken: []int64{1}, Boxes: []VisitBox{{BoxID: 2}}}}
		}, func(p *Plan) bool {
			return firstAt(p, 1).On == usual-1 && firstAt(p, 2).On == usual && firstAt(p, 2).ID == 7
		}},
		{"people count on the other one", func(c *Club) {
			c.Members[0].Prefs.HoursADay = 3
			c.Visits = []Visit{{ID: 7, UID: "u7", ApiaryID: 2, On: usual, Status: Confirmed, Who: []int64{1}, Boxes: []VisitBox{{BoxID: 2}}}}
		}, func(p *Plan) bool {
			return firstAt(p, 1).On == usual-1 && firstAt(p, 2).On == usual && firstAt(p, 2).ID == 7 && firstAt(p, 2).Sequence == 0
		}},
		{"hours for one box", func(c *Club) {
			c.Members[0].Prefs.HoursADay = 2.5
			c.Apiaries[0].Hives = append(c.Apiaries[0].Hives, c.Apiaries[1].Hives...)
			c.Apiaries = c.Apiaries[:1]
		}, func(p *Plan) bool {
			return len(p.Visits[0].Who) == 1 && len(p.Visits[1].Who) == 1 && p.Visits[1].On == p.Visits[0].On+1
		}},
		{"a tentative visit on a day as good", func(c *Club) {
			c.Members[0].Prefs.HoursADay = 3
			c.Visits = []Visit{
				{ID: 7, UID: "u7", ApiaryID: 2, On: usual - 10, Status: Confirmed, Who: []int64{1}, Taken: []int64{1}, Boxes: []VisitBox{{BoxID: 2}}},
				{ID: 8, UID: "u8", ApiaryID: 1, On: usual - 1, Status: Tentative, Who: []int64{1}, Boxes: []VisitBox{{BoxID: 1}}},
			}
		}, func(p *Plan) bool { return firstAt(p, 1).On == usual-1 && firstAt(p, 1).ID == 8 }},
		{"a tentative visit on a day that is somebody else's", func(c *Club) {
			c.Members[0].Prefs.HoursADay = 3
			c.Visits = []Visit{
				{ID: 7, UID: "u7", ApiaryID: 2, On: spring - 1, Status: Confirmed, Who: []int64{1}, Taken: []int64{1}, Boxes: []VisitBox{{BoxID: 2}}},
				{ID: 8, UID: "u8", ApiaryID: 1, On: spring - 1, Status: Tentative, Who: []int64{1}, Boxes: []VisitBox{{BoxID: 1}}},
			}
		}, func(p *Plan) bool {
			v := find(p.Visits, 8)
			return v.On != spring-1 && len(v.Who) == 1
		}},
		{"hours for both if they come off lightly", func(c *Club) { c.Members[0].Prefs.HoursADay = 4.95 }, func(p *Plan) bool {
			return firstAt(p, 1).On == usual && firstAt(p, 2).On == usual-1
		}},
		{"hours for both and the prying", func(c *Club) { c.Members[0].Prefs.HoursADay = 5.3 }, func(p *Plan) bool {
			return firstAt(p, 1).On == usual && firstAt(p, 2).On == usual
		}},
		{"a stuck box too long for a day", func(c *Club) {
			c.Members[0].Prefs.HoursADay = 2.5
			c.Rules.Hours.Stuck = 20
		}, func(p *Plan) bool {
			return unasked(p) == 0 && firstAt(p, 1).On != firstAt(p, 2).On
		}},
		{"two take what is too long for one", func(c *Club) {
			c.Rules.Hours.Open = 8
			c.Apiaries[0].Keepers = both
		}, func(p *Plan) bool { return slices.Equal(firstAt(p, 1).Who, both) && len(firstAt(p, 2).Who) == 0 }},
	} {
		c := twins()
		tt.given(c)
		if p := PlanClub(c, testToday); !tt.want(p) {
			t.Errorf("%s: the plan is\n%s", tt.name, show(c, p))
		}
	}
}
