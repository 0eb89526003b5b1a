package scheduler

import (
	"slices"
	"testing"
	"time"
)

// TestNobodyAnswers plays a spring in which no visit is answered. Each is asked
// about, then given up; the next one of its boxes leaves time to be told of,
// keeps to the keepers' weekday, and comes at the earliest when the mails of a
// silent apiary have rested. None that people count on moves about.
func TestNobodyAnswers(t *testing.T) {
	from := date("2027-05-03")
	old := []Opening{opened("2026-06-01", Firm)}
	c := stand(date("2026-05-01"), old, old, old, old)
	c.Rules.Stages[BuildUp].Required, c.Rules.MaxDays = NothingRequired, 300 // past: every day is late
	c.Apiaries[0].Weekdays = 1 << time.Saturday
	var over []Visit
	counted := map[int64]Date{}
	for today := from; today < from+120; today++ {
		plan := PlanClub(c, today)
		for _, v := range plan.Past {
			if v.Status == Unanswered {
				over = append(over, v)
			}
		}
		remember(c, plan)
		for _, v := range c.Visits {
			if !v.Status.Open() {
				continue
			}
			if was, ok := counted[v.ID]; ok && was != v.On {
				t.Errorf("%s: the visit of %s is on %s now", today, was, v.On)
			}
			if v.Status == Confirmed {
				counted[v.ID] = v.On
			}
			if v.On < today+HorizonDays/2 && v.On.Weekday() != time.Saturday {
				t.Errorf("%s: a visit on %s, which is not the keepers' day", today, v.On)
			}
		}
	}
	if len(over) < 4 {
		t.Fatalf("only %d visits in four months", len(over))
	}
	for i, v := range over[1:] {
		last, rounds := over[i], i+1
		least := Date(c.Rules.AnswerDays + 1 + c.Rules.MoveNotice)
		if rest := SilentRest(rounds, &c.Rules); rest > 0 {
			least = rest + 1 + Date(c.Rules.MoveNotice)
		}
		if v.On < last.On+least || v.On > last.On+least+7 {
			t.Errorf("after %d silent visits, the last on %s: the next on %s, want %d days later or up to a week more", rounds, last.On, v.On, least)
		}
	}
}

// TestSilenceIsSettledAtOnce: the plan of the day on which a visit is given up
// is that of the day before and that of the day after.
func TestSilenceIsSettledAtOnce(t *testing.T) {
	on := date("2027-05-15")
	old := []Opening{opened("2026-06-01", Firm)}
	next := func(c *Club, today Date) Date {
		plan := PlanClub(c, today)
		remember(c, plan)
		for _, v := range plan.Visits {
			if v.Lists(1) {
				return v.On
			}
		}
		return 0
	}
	for _, rounds := range []int{1, 2, 3} {
		c := stand(date("2026-05-01"), old, old)
		c.Rules.Stages[BuildUp].Required, c.Rules.MaxDays = NothingRequired, 1500
		for i := range Date(rounds) {
			v := Visit{ID: int64(i) + 7, UID: "u", ApiaryID: 5, On: on - 20*i, Status: Missed, Boxes: []VisitBox{{BoxID: 1}, {BoxID: 2}}}
			if i == 0 {
				v.Status = Unanswered
			}
			c.Visits = append(c.Visits, v)
		}
		last := on + Date(c.Rules.AnswerDays)
		before, settled, after := next(c, last), next(c, last+1), next(c, last+2)
		if find(c.Visits, 7).Status != Missed {
			t.Fatalf("it is %s", find(c.Visits, 7).Status)
		}
		if before != settled || settled != after {
			t.Errorf("%d rounds: the next visit is on %s, then %s, then %s", rounds, before, settled, after)
		}
	}
}

// TestWhatIsBeingWrittenDownIsLeftAlone: one box of yesterday's visit is on
// record, the others may follow in a minute; no visit is made of them meanwhile.
func TestWhatIsBeingWrittenDownIsLeftAlone(t *testing.T) {
	sat := date("2027-05-15")
	old := []Opening{opened("2026-06-01", Firm)}
	for _, longest := range []Date{0, 1, 2} { // days after the visit on which the longest wait of the boxes ends; 0: it does not
		for after := Date(0); after <= nearDays+1; after++ {
			c := stand(date("2026-05-01"), old, old, old)
			if longest > 0 {
				c.Rules.MaxDays, c.Rules.LeadDays, c.Rules.MoveNotice = int(sat+longest-old[0].On), 0, 0
			}
			c.Apiaries[0].Hives[0].Boxes[0].Openings = append(old[:1:1], opened(sat.String(), Light))
			v := Visit{ID: 7, UID: "u", ApiaryID: 5, On: sat, Status: Confirmed, Boxes: []VisitBox{{BoxID: 1}, {BoxID: 2}, {BoxID: 3}}}
			if after > 0 {
				v.Status = Done
			}
			c.Visits = []Visit{v}
			for _, n := range PlanClub(c, sat+after).Visits {
				if n.ID != 7 && n.On <= sat+nearDays && (n.Lists(2) || n.Lists(3)) {
					t.Errorf("%d days after, the longest wait ending %d days after the visit: a visit on %s", after, longest, n.On)
				}
			}
		}
	}
}

// TestARestLeavesWhatPeopleCountOn: a confirmed visit of a silent apiary stays
// on its day where moving it saves too little.
func TestARestLeavesWhatPeopleCountOn(t *testing.T) {
	on := date("2027-05-15")
	old := []Opening{opened("2026-06-01", Firm)}
	c := stand(date("2026-05-01"), old, old, old)
	c.Rules.Stages[BuildUp].Required, c.Rules.MaxDays, c.Rules.HoldHours = NothingRequired, 1500, 8
	other := []VisitBox{{BoxID: 3}}
	c.Visits = []Visit{
		{ID: 7, UID: "a", ApiaryID: 5, On: on - 20, Status: Missed, Boxes: other},
		{ID: 8, UID: "b", ApiaryID: 5, On: on, Status: Unanswered, Boxes: other},
		{ID: 9, UID: "c", ApiaryID: 5, On: on + 6, Status: Confirmed, Boxes: []VisitBox{{BoxID: 1, Due: on}, {BoxID: 2, Due: on}}},
	}
	for today := on + 1; today <= on+6; today++ {
		remember(c, PlanClub(c, today))
		if v := find(c.Visits, 9); v.On != on+6 || !v.Lists(1) || !v.Lists(2) {
			t.Fatalf("%s: %+v", today, v)
		}
	}
}

// TestNothingChangesOnTheLastDays: a confirmed visit of the next days stays and
// keeps its boxes, however much another day would save; but not boxes that
// somebody opened meanwhile.
func TestNothingChangesOnTheLastDays(t *testing.T) {
	today := date("2027-05-20")
	late, fresh := []Opening{opened("2026-06-01", Firm)}, []Opening{opened("2027-04-20", Loose)}
	since := []Opening{opened("2027-05-15", Loose)}
	for _, tc := range []struct {
		name  string
		boxes [3][]Opening
		visit Visit // of the first two boxes
		other Visit // of the third
		want  []int64
	}{
		{
			"nobody took it, and another day would do for all",
			[3][]Opening{late, late, late},
			Visit{On: today + 2},
			Visit{On: today - 1, Status: Unanswered},
			[]int64{1, 2},
		},
		{"taken, and its boxes could wait", [3][]Opening{fresh, fresh, late}, Visit{On: today + 1, Taken: []int64{1}}, Visit{On: today + 9}, []int64{1, 2}},
		{"taken, and one was opened last week", [3][]Opening{fresh, since, late}, Visit{On: today + 1, Taken: []int64{1}}, Visit{On: today + 9}, []int64{1}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c := stand(date("2026-05-01"), tc.boxes[0], tc.boxes[1], tc.boxes[2])
			c.Rules.MaxDays = 1500
			for stage := range c.Rules.Stages {
				c.Rules.Stages[stage].Required = NothingRequired
			}
			v, other := tc.visit, tc.other
			v.ID, v.UID, v.ApiaryID, v.Status, v.Who = 7, "u", 5, Confirmed, v.Taken
			v.Boxes = []VisitBox{{BoxID: 1, Due: v.On}, {BoxID: 2, Due: v.On}}
			other.ID, other.UID, other.ApiaryID, other.Boxes = 8, "o", 5, []VisitBox{{BoxID: 3, Due: other.On}}
			if other.Status == "" {
				other.Status = Confirmed
			}
			c.Visits = []Visit{v, other}
			remember(c, PlanClub(c, today))
			now := find(c.Visits, 7)
			for _, box := range []int64{1, 2} {
				if now.Lists(box) != slices.Contains(tc.want, box) {
					t.Errorf("box %d is on it: %v", box, now.Lists(box))
				}
			}
			if now.On != v.On || now.Status != Confirmed {
				t.Errorf("it is %s on %s, was on %s", now.Status, now.On, v.On)
			}
		})
	}
}

// TestAfterAnswersToo: boxes of a visit that somebody took, and nobody wrote
// down, come back in time to be told of.
func TestAfterAnswersToo(t *testing.T) {
	on := date("2027-05-15")
	old := []Opening{opened("2026-06-01", Firm)}
	for _, said := range []Visit{{Taken: []int64{1}, Who: []int64{1}}, {Refused: []int64{1}}} {
		c := stand(date("2026-05-01"), old, old)
		v := said
		v.ID, v.UID, v.ApiaryID, v.On, v.Status, v.Boxes = 7, "u", 5, on, Unanswered, []VisitBox{{BoxID: 1}, {BoxID: 2}}
		c.Visits = []Visit{v}
		least := on + Date(c.Rules.AnswerDays+1+c.Rules.MoveNotice)
		for today := on + 1; today < least; today++ {
			plan := PlanClub(c, today)
			for _, n := range plan.Visits {
				if n.On < least {
					t.Errorf("%s: a visit on %s, want none before %s", today, n.On, least)
				}
			}
			remember(c, plan)
		}
	}
}

// TestLeftShutComesSoon: a box that would not open is planned for the keepers'
// next day on which a second person can be found, not before and no later,
// unless the longest wait ends before; with it comes what stands above.
func TestLeftShutComesSoon(t *testing.T) {
	shut := date("2027-06-08") // a Tuesday
	tried := []Opening{opened("2026-08-01", Light), {ID: "x", On: shut, Joint: Stuck, Frames: NotTried, Scraped: ScrapedNone, LeftShut: true}}
	fine := []Opening{opened("2027-06-08", Light)}
	for _, tt := range []struct {
		name     string
		change   func(*Club)
		want     Date
		overdue  bool
		weekdays WeekdaySet
	}{
		{"any day", func(*Club) {}, shut + 3, true, 0},
		{"their Saturday", func(*Club) {}, shut + 4, true, 1 << time.Saturday},
		{"time enough", func(c *Club) { c.Rules.MoveNotice = 9 }, shut + 9, true, 0},
		{"the longest wait ends before", func(c *Club) {
			c.Rules.LeadDays = 1
			c.Rules.OddsLimit, c.Rules.MaxDays, c.Rules.Stages[BuildUp].Required = 0.9, int(shut+2-date("2026-08-01")), NothingRequired
		}, shut + 2, false, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := stand(date("2026-05-01"), tried, fine)
			h := &c.Apiaries[0].Hives[0]
			h.Boxes = append(h.Boxes, Box{ID: 7, Name: "B7", SetUpOn: date("2026-05-01"), Openings: fine})
			c.Apiaries[0].Weekdays = tt.weekdays
			tt.change(c)
			p := PlanClub(c, shut+1)
			if b := p.Boxes[0]; b.Overdue != tt.overdue {
				t.Errorf("due %s, overdue %v", b.Due, b.Overdue)
			}
			v := p.Visits[0]
			if v.On != tt.want || !v.Lists(1) || !v.Lists(7) {
				t.Errorf("the first visit is on %s and opens %+v, want %s", v.On, v.Boxes, tt.want)
			}
		})
	}
}
