package scheduler

import (
	"cmp"
	"errors"
	"reflect"
	"slices"
	"testing"
	"time"
)

var visitEvents = []VisitEvent{
	VisitNears, VisitRecedes, VisitReplanned, VisitDropped, VisitDayOver, VisitGivenUp, VisitFound,
	VisitTaken, VisitHandedOff, VisitMoved, VisitFinished, VisitCalledOff, VisitReopened,
}

// TestVisitLife holds what a life can and cannot come to, state by state.
func TestVisitLife(t *testing.T) {
	for status, row := range visitLife {
		if !slices.Contains(VisitStatuses, status) {
			t.Errorf("%q is no state", status)
		}
		for event, to := range row {
			if !slices.Contains(visitEvents, event) || !slices.Contains(VisitStatuses, to) {
				t.Errorf("%s of a %s visit leads to %q", event, status, to)
			}
		}
	}
	for _, status := range VisitStatuses {
		for _, event := range visitEvents {
			v := Visit{ID: 1, Status: status, Sequence: 4, On: 800000}
			was := v
			to, can := visitLife[status][event]
			if can != v.May(event) {
				t.Errorf("may %s %s: %v", event, status, v.May(event))
			}
			err := v.Happen(event)
			switch {
			case can && (err != nil || v.Status != to || v.Sequence != 5):
				t.Errorf("%s of a %s visit: %v, %s at %d", event, status, err, v.Status, v.Sequence)
			case !can && (!errors.Is(err, ErrVisitOver) || !reflect.DeepEqual(v, was)):
				t.Errorf("%s of a %s visit: %v, %+v", event, status, err, v)
			}
		}
	}
	for _, event := range []VisitEvent{VisitTaken, VisitMoved, VisitCalledOff, VisitDayOver} {
		if (&Visit{Status: Done}).May(event) || (&Visit{Status: Missed}).May(event) {
			t.Errorf("history can be %s", event)
		}
	}
}

// TestCallingOffAndBack: taking a cancellation back restores everything.
func TestCallingOffAndBack(t *testing.T) {
	for _, was := range []Visit{
		{Status: Confirmed, On: 800000, Pinned: true, Who: []int64{1, 2}, Taken: []int64{2}, Refused: []int64{3}, NotBoxes: []int64{9}},
		{Status: Tentative, On: 800000, Boxes: []VisitBox{{BoxID: 1}}},
	} {
		v := was
		if err := v.CallOff(800030); err != nil || v.Status != Cancelled || v.OffUntil != 800030 {
			t.Fatalf("called off: %+v, %v", v, err)
		}
		if err := v.Happen(VisitReopened); err != nil {
			t.Fatal(err)
		}
		v.Sequence = was.Sequence
		if !reflect.DeepEqual(v, was) {
			t.Errorf("taken back it is %+v, was %+v", v, was)
		}
	}
	v := Visit{Status: Unanswered, On: 800000}
	if err := v.CallOff(800030); err != nil {
		t.Fatal(err)
	}
	if err := v.Happen(VisitReopened); err != nil || v.Status != Confirmed {
		t.Errorf("an unanswered one taken back is %s, %v", v.Status, err)
	}
}

func TestTakingAndHandingOff(t *testing.T) {
	v := Visit{Status: Tentative, Who: []int64{1, 2}}
	step := func(what string, err error, who, taken, refused []int64, sequence int) {
		t.Helper()
		if err != nil || !slices.Equal(v.Who, who) || !slices.Equal(v.Taken, taken) || !slices.Equal(v.Refused, refused) || v.Sequence != sequence {
			t.Errorf("%s: %v; %+v", what, err, v)
		}
	}
	step("a keeper takes it", v.Take(2), []int64{1, 2}, []int64{2}, nil, 1)
	if v.Status != Confirmed {
		t.Errorf("taken it is %s", v.Status)
	}
	step("twice", v.Take(2), []int64{1, 2}, []int64{2}, nil, 1)
	step("somebody else too", v.Take(7), []int64{1, 2, 7}, []int64{2, 7}, nil, 2)
	step("who never said so cannot", v.HandOff(1), []int64{2, 7}, []int64{2, 7}, []int64{1}, 3)
	step("nor can who did", v.HandOff(2), []int64{7}, []int64{7}, []int64{1, 2}, 4)
	step("twice", v.HandOff(2), []int64{7}, []int64{7}, []int64{1, 2}, 4)
	step("and then can", v.Take(1), []int64{7, 1}, []int64{7, 1}, []int64{2}, 5)
	step("an organiser says who", v.SayWho([]int64{2}), []int64{2}, []int64{2}, []int64{7, 1}, 6)
	step("nobody", v.SayWho(nil), nil, nil, []int64{7, 1, 2}, 7)
	v.Status = Missed
	for what, err := range map[string]error{"take": v.Take(1), "say who": v.SayWho([]int64{1}), "move": v.Move(5), "call off": v.CallOff(5)} {
		if !errors.Is(err, ErrVisitOver) {
			t.Errorf("%s a missed visit: %v", what, err)
		}
	}
}

// spring is a plan of a club late in spring, recorded, with its first visit.
func spring(today Date) (*Club, *Visit) {
	c := lateSpring(today)
	return c, &c.Visits[0]
}

// TestATakenVisitStays: whatever planning would rather do, and it says so.
func TestATakenVisitStays(t *testing.T) {
	today := date("2027-04-01")
	c, v := spring(today)
	best := v.On
	v.On, v.Status, v.Taken, v.Who = best+20, Confirmed, []int64{1}, []int64{1}
	c.Visits = c.Visits[:1]
	got := PlanClub(c, today)
	if now := find(got.Visits, v.ID); now.On != best+20 || !slices.Equal(now.Taken, []int64{1}) {
		t.Fatalf("it moved: %+v", now)
	}
	p, ok := BetterDay(c, v, today)
	if !ok || p.To != best {
		t.Errorf("proposed %v %s, want %s", ok, p.To, best)
	}
	if worst := slices.MaxFunc(v.Boxes, func(a, b VisitBox) int { return int(1e6 * (a.Odds - b.Odds)) }); p.Odds != worst.Odds || p.Odds == 0 {
		t.Errorf("odds %v, want %v", p.Odds, worst.Odds)
	}
	elsewhere := Promise{ApiaryID: 99, On: best, Who: []int64{1}, Taken: []int64{1}, TravelHours: new(float64), Work: Work{Openings: 36}} // 7.2 of 8 hours
	c.Elsewhere = []Promise{elsewhere}
	if q, ok := BetterDay(c, v, today); !ok || q.To == best {
		t.Errorf("proposed %v %s, on which who goes has promised the day elsewhere", ok, q.To)
	}
	c.Elsewhere[0].Who, c.Elsewhere[0].Taken = []int64{2}, []int64{2}
	if q, ok := BetterDay(c, v, today); !ok || q.To != best {
		t.Errorf("proposed %v %s, since somebody who does not go is busy", ok, q.To)
	}
	c.Elsewhere = nil
	for on := today; on < today+HorizonDays; on++ {
		elsewhere.On = on
		c.Elsewhere = append(c.Elsewhere, elsewhere)
	}
	if q, ok := BetterDay(c, v, today); ok {
		t.Errorf("proposed %s to somebody who has no day left", q.To)
	}
	c.Elsewhere = nil
	v.Taken = nil
	if _, ok := BetterDay(c, v, today); ok {
		t.Error("a day is proposed for a visit that planning moves by itself")
	}
	v.Taken, v.On = []int64{1}, best
	if p, ok := BetterDay(c, v, today); ok {
		t.Errorf("%s is proposed for a visit on its best day", p.To)
	}
}

// TestNoConfirmedVisitMovesToSoon: the best day comes nearer than the move
// notice; the visit moves no nearer than that.
func TestNoConfirmedVisitMovesToSoon(t *testing.T) {
	best := lateSpring(date("2027-04-01")).Visits[0].On
	for _, notice := range []int{0, 1, 3, 5} {
		for ahead := range Date(8) {
			c := lateSpring(date("2027-04-01"))
			today := best - ahead
			c.Rules.MoveNotice = notice
			c.Visits = c.Visits[:1]
			was := c.Visits[0]
			was.On, was.Status = best+20, Confirmed
			c.Visits[0] = was
			for _, v := range PlanClub(c, today).Visits {
				if v.ID == was.ID && v.On < today+Date(notice) {
					t.Errorf("notice %d: moved from %s to %s on %s", notice, was.On, v.On, today)
				}
			}
		}
	}
}

// TestUnansweredBoxesAreLeftToTheirPeople: no visit, and nothing new that
// people are to count on, is made of them for answer_days; then planning goes on.
func TestUnansweredBoxesAreLeftToTheirPeople(t *testing.T) {
	sat := date("2027-05-15")
	old := []Opening{opened("2026-06-01", Firm)}
	for after := Date(1); after <= 12; after++ {
		c := stand(date("2026-05-01"), old, old, old)
		c.Visits = []Visit{{ID: 7, UID: "u", ApiaryID: 5, On: sat, Status: Confirmed, Boxes: []VisitBox{{BoxID: 1, Due: sat}, {BoxID: 2, Due: sat}}}}
		plan := PlanClub(c, sat+after)
		first := Date(0)
		for _, v := range plan.Visits {
			mine := v.Lists(1) || v.Lists(2)
			if mine && first == 0 {
				first = v.On
			}
			if after <= 7 && mine && (v.On <= sat+7 || v.Status == Confirmed && v.On <= sat+after+14) {
				t.Errorf("%d days after: %s visit on %s of boxes that somebody may have opened", after, v.Status, v.On)
			}
			if v.ID == 7 {
				t.Errorf("the visit of %s goes on as one of %s", sat, v.On)
			}
		}
		if after > 7 && first > sat+after+14 {
			t.Errorf("%d days after: not before %s", after, first)
		}
	}
}

// TestCalledOffBoxesComeBackOnTheirDay: not sooner, under no other identity,
// unless the longest wait falls first.
func TestCalledOffBoxesComeBackOnTheirDay(t *testing.T) {
	today := date("2027-06-01")
	for _, tc := range []struct {
		name    string
		opened  string // last time
		maxDays int
		until   Date
		latest  Date // no later than this
		early   bool // a hard limit falls first
	}{
		{"a week", "2026-05-20", 1500, today + 14, today + 30, false},
		{"four weeks", "2026-05-20", 1500, today + 28, today + 45, false},
		{"past the longest wait", "2026-05-20", 400, today + 60, date("2026-05-20") + 400, true},
		{"when the longest wait is over already", "2026-05-20", 360, today + 28, today + 45, false},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c := stand(date("2025-05-01"), []Opening{opened(tc.opened, Hard)}, []Opening{opened(tc.opened, Hard)})
			c.Rules.Stages[BuildUp].Required, c.Rules.MaxDays = NothingRequired, tc.maxDays
			remember(c, PlanClub(c, today))
			v := find(c.Visits, 1)
			if v.On >= tc.until {
				t.Fatalf("the visit to call off is on %s", v.On)
			}
			if err := v.CallOff(tc.until); err != nil {
				t.Fatal(err)
			}
			first := Date(0)
			for day := today; day < today+3; day++ {
				remember(c, PlanClub(c, day))
			}
			for i := range c.Visits {
				if n := &c.Visits[i]; n.Status.Open() && (n.Lists(1) || n.Lists(2)) && (first == 0 || n.On < first) {
					first = n.On
				}
			}
			if !tc.early && first < tc.until || first > tc.latest || tc.early && first >= tc.until {
				t.Errorf("called off until %s, planned on %s", tc.until, first)
			}
		})
	}
}

// TestWhoRefusedStaysRefused: neither a move nor a new visit of the same week
// brings back who cannot.
func TestWhoRefusedStaysRefused(t *testing.T) {
	today := date("2027-05-20")
	c := stand(date("2026-05-01"), []Opening{opened("2026-08-20", Firm)})
	remember(c, PlanClub(c, today))
	v := find(c.Visits, 1)
	if err := v.HandOff(2); err != nil {
		t.Fatal(err)
	}
	until := v.On + 4
	if err := v.CallOff(until); err != nil {
		t.Fatal(err)
	}
	on := v.On
	remember(c, PlanClub(c, today))
	for i := range c.Visits {
		n := &c.Visits[i]
		if near := n.On-on <= 7; n.Status.Open() && slices.Contains(n.Who, 2) == near {
			t.Errorf("visit of %s, %d days on, with %v", n.On, n.On-on, n.Who)
		}
	}
}

// TestWhyTwoVisitsStandApart: two visits within min_days have a reason.
func TestWhyTwoVisitsStandApart(t *testing.T) {
	today := date("2027-05-03")
	c := stand(date("2026-05-01"), []Opening{opened("2026-08-20", Firm)}, []Opening{opened("2026-08-20", Firm)})
	c.Visits = []Visit{
		{ID: 1, ApiaryID: 5, On: today + 5, Status: Confirmed, Boxes: []VisitBox{{BoxID: 1}}},
		{ID: 2, ApiaryID: 5, On: today + 12, Status: Confirmed, Boxes: []VisitBox{{BoxID: 2}}},
		{ID: 3, ApiaryID: 5, On: today + 60, Status: Tentative, Boxes: []VisitBox{{BoxID: 2}}},
		{ID: 4, ApiaryID: 5, On: today + 59, Status: Cancelled, Boxes: []VisitBox{{BoxID: 2}}},
	}
	second := &c.Visits[1]
	check := func(name string, v *Visit, before int64, want Apart) {
		t.Helper()
		o, why := WhyApart(c, v, today)
		if (o == nil) != (before == 0) || o != nil && o.ID != before || why != want {
			t.Errorf("%s: %+v, %q", name, o, why)
		}
	}
	check("the first", &c.Visits[0], 0, "")
	check("far from the others", &c.Visits[2], 0, "")
	check("a plain one", second, 1, ApartHours)
	c.Apiaries[0].Hives[1].LeaveAlone = []Period{{From: today, Until: today + 8}}
	check("the hive rests on the day of the first", second, 1, ApartClosed)
	second.Pinned = true
	check("a person put it there", second, 1, ApartPerson)
	second.Pinned, c.Apiaries[0].Hives[1].LeaveAlone = false, nil
	b := &c.Apiaries[0].Hives[1].Boxes[0]
	b.Openings = append(b.Openings, Opening{ID: "n", On: today - 10, Joint: Light, Frames: NotTried})
	check("opened too short a time before", second, 1, ApartRested)
}

// TestAnApiaryNeverStandsTwiceWithTheSameBoxes plays two seasons in which
// people answer now and then, and looks at what stands on every day.
func TestAnApiaryNeverStandsTwiceWithTheSameBoxes(t *testing.T) {
	for seed := range uint64(4) {
		r := newDice(seed)
		c := r.club(8, testToday)
		var p Planner
		remade := map[int64]Date{} // by box: the day of its last visit that came to nothing
		for today := testToday; today < testToday+500; today++ {
			plan := p.PlanApiary(c, 5, today)
			for _, v := range plan.Past {
				for _, b := range v.Boxes {
					if v.Status == Unanswered {
						remade[b.BoxID] = v.On
					}
				}
			}
			remember(c, plan)
			last := map[int64]Date{}
			for i := range plan.Visits {
				v := &plan.Visits[i]
				for _, b := range v.Boxes {
					if on, twice := last[b.BoxID]; twice && v.On-on < 14 && b.Reason != BecauseAbove {
						t.Fatalf("seed %d, %s: box %d stands on %s and again on %s", seed, today, b.BoxID, on, v.On)
					}
					last[b.BoxID] = v.On
					if on, unsaid := remade[b.BoxID]; unsaid && today <= on+7 && v.On <= on+7 {
						t.Fatalf("seed %d, %s: box %d of the unanswered visit of %s is on one of %s", seed, today, b.BoxID, on, v.On)
					}
				}
			}
			if today.Weekday() != time.Sunday { // now and then somebody goes and writes it down
				continue
			}
			if r.live(c, today) {
				clear(remade)
			}
		}
	}
}

// TestHardLimit: what a person may put off no longer, by hand.
func TestHardLimit(t *testing.T) {
	today := date("2027-06-10")
	club := func(change func(*Club)) *Club {
		c := stand(date("2026-05-01"), []Opening{opened("2027-06-01", Loose)}, []Opening{opened("2027-05-20", Loose)})
		c.Rules.OddsLimit, c.Rules.MaxDays = 0.9, 80
		change(c)
		return c
	}
	for _, tt := range []struct {
		name   string
		change func(*Club)
		boxes  []int // hives whose box is on the visit
		want   Date
		today  Date // if another
	}{
		{"the first of several, wherever it stands", func(c *Club) {
			h := c.Apiaries[0].Hives
			h[0].Boxes[0].Openings, h[1].Boxes[0].Openings = h[1].Boxes[0].Openings, h[0].Boxes[0].Openings
		}, []int{0, 1}, date("2027-05-20") + 80, 0},
		{"the longest wait, where the middle of the stage that asks is past", func(c *Club) {
			c.Rules.MaxDays = 400
			c.Rules.Stages[LateSummer].Required, c.Rules.Stages[Flow].Required = NothingRequired, OpeningRequired
			c.Apiaries[0].Hives[0].Boxes[0].Openings = []Opening{opened("2026-07-20", Loose)}
		}, []int{0}, date("2026-07-20") + 400, date("2027-07-05")},
		{"eighty days from its last opening", func(*Club) {}, []int{0}, date("2027-06-01") + 80, 0},
		{"the first of several", func(*Club) {}, []int{0, 1}, date("2027-05-20") + 80, 0},
		{"of no box there is none", func(*Club) {}, nil, 0, 0},
		{"beyond the horizon there is none", func(c *Club) { c.Rules.MaxDays, c.Rules.Stages[BuildUp].Required = 1000, NothingRequired }, []int{0}, 0, 0},
		{"what is past binds no more", func(c *Club) { c.Rules.MaxDays, c.Rules.Stages[BuildUp].Required = 5, NothingRequired }, []int{1}, 0, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			today := cmp.Or(tt.today, today)
			c := club(tt.change)
			v := Visit{ID: 1, ApiaryID: c.Apiaries[0].ID, On: today + 3, Status: Confirmed}
			for _, h := range tt.boxes {
				v.Boxes = append(v.Boxes, VisitBox{BoxID: c.Apiaries[0].Hives[h].Boxes[0].ID})
			}
			if got := HardLimit(c, &v, today); got != tt.want {
				t.Errorf("%s, want %s", got, tt.want)
			}
		})
	}
}
