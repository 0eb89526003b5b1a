package scheduler

import (
	"math"
	"slices"
	"testing"
)

// weeksClub has two apiaries an hour apart and two members. 7 June 2027 is a
// Monday.
func weeksClub() *Club {
	hour := 1.0
	c := &Club{Rules: DefaultRules(), Members: []Member{{ID: 1}, {ID: 2}}}
	c.Rules.Hours = Hours{Travel: 2, Setup: 0.5, Open: 0.25}
	c.Rules.Capacity = Capacity{HoursADay: 4, VisitsAWeek: 2}
	c.Members[1].Prefs = Preferences{HoursADay: 3, VisitsAWeek: 5, Weekdays: 1<<0 | 1<<6}
	c.Apiaries = []Apiary{{ID: 1, Latitude: 48}, {ID: 2, Latitude: 50, TravelHours: &hour}, {ID: 3, Latitude: 48, Trip: "hill"}, {ID: 4, Latitude: 50, Trip: "hill", TravelHours: &hour}}
	return c
}

// TestWeeks adds up by hand what planning counts: journey, setup and a quarter of
// an hour for each box.
func TestWeeks(t *testing.T) {
	t.Parallel()
	mon := NewDate(2027, 6, 7)
	visit := func(apiary int64, on Date, status VisitStatus, boxes int, who, taken []int64) Visit {
		return Visit{ID: int64(boxes), ApiaryID: apiary, On: on, Status: status, Who: who, Taken: taken}
	}
	boxes := func(v *Visit) Work { return Work{Openings: int(v.ID)} }
	for _, row := range []struct {
		name   string
		change func(*Club)
		visits []Visit
		ones   []Week // of member 1 and then 2, in the week of mon
		lack   Lack
	}{
		{
			name: "nothing", ones: []Week{{Most: 2, Gives: 8}, {Most: 5, Gives: 6}},
		},
		{
			name:   "one that is expected counts against the first who is enough, one that is taken against all who go",
			visits: []Visit{visit(1, mon, Confirmed, 2, []int64{1, 2}, nil), visit(2, mon+6, Confirmed, 4, []int64{1, 2}, []int64{1, 2})},
			ones:   []Week{{Visits: 2, Hours: 3 + 2, Most: 2, Gives: 8}, {Visits: 1, Hours: 2, Most: 5, Gives: 6}},
		},
		{
			name:   "two of a trip on a day make one journey",
			visits: []Visit{visit(3, mon+5, Done, 2, []int64{2}, []int64{2}), visit(4, mon+5, Confirmed, 2, []int64{2}, nil)},
			ones:   []Week{{Most: 2, Gives: 8}, {Visits: 2, Hours: 2 + 1 + 1, Most: 5, Gives: 6, Over: true}},
		},
		{
			name:   "missed and cancelled ones take nobody's day, unanswered ones do",
			visits: []Visit{visit(1, mon, Missed, 2, []int64{1}, nil), visit(1, mon, Cancelled, 2, []int64{1}, nil), visit(2, mon+1, Unanswered, 2, []int64{1}, nil)},
			ones:   []Week{{Visits: 1, Hours: 2, Most: 2, Gives: 8}, {Most: 5, Gives: 6}},
		},
		{
			name:   "what nobody goes to lacks somebody while it is to come",
			visits: []Visit{visit(1, mon+4, Tentative, 2, nil, nil), visit(1, mon, Done, 2, nil, nil), visit(1, mon+4, Confirmed, 2, []int64{99}, nil)},
			ones:   []Week{{Most: 2, Gives: 8}, {Most: 5, Gives: 6}}, lack: Lack{Visits: 2, Hours: 6},
		},
		{
			name:   "the weeks beside are others",
			visits: []Visit{visit(1, mon-1, Confirmed, 2, []int64{1}, nil), visit(1, mon+7, Confirmed, 2, []int64{1}, nil)},
			ones:   []Week{{Most: 2, Gives: 8}, {Most: 5, Gives: 6}},
		},
		{
			name:   "days away are not given, nor more days than visits",
			change: func(c *Club) { c.Members[1].NoGo = []Period{{From: mon, Until: mon + 5}} },
			ones:   []Week{{Most: 2, Gives: 8}, {Most: 5, Gives: 3}},
		},
		{
			name:   "three visits of two are too many",
			visits: []Visit{visit(2, mon, Confirmed, 0, []int64{1}, nil), visit(2, mon+1, Confirmed, 0, []int64{1}, nil), visit(2, mon+2, Confirmed, 0, []int64{1}, nil)},
			ones:   []Week{{Visits: 3, Hours: 4.5, Most: 2, Gives: 8, Over: true}, {Most: 5, Gives: 6}},
		},
	} {
		t.Run(row.name, func(t *testing.T) {
			c := weeksClub()
			if row.change != nil {
				row.change(c)
			}
			got, lacks := Weeks(c, row.visits, boxes, mon+2, mon+3, mon+9)
			if len(got) != 4 || len(lacks) != 2 {
				t.Fatalf("%d weeks of members, %d of nobody", len(got), len(lacks))
			}
			for i, want := range row.ones {
				want.MemberID, want.Monday = int64(i+1), mon
				if w := got[2*i]; w != want {
					t.Errorf("member %d: %+v, want %+v", i+1, w, want)
				}
			}
			row.lack.Monday = mon
			if lacks[0] != row.lack {
				t.Errorf("nobody: %+v, want %+v", lacks[0], row.lack)
			}
		})
	}
}

// TestWeeksAreWhatPlanningCounts: of a week that planning filled, the hours left
// to it and those added up here are a whole day.
func TestWeeksAreWhatPlanningCounts(t *testing.T) {
	t.Parallel()
	mon := NewDate(2027, 6, 7)
	c := weeksClub()
	c.Rules.Capacity.VisitsAWeek = 9
	v := []Visit{{ApiaryID: 3, On: mon, Status: Confirmed, Who: []int64{1}}, {ApiaryID: 4, On: mon, Status: Confirmed, Who: []int64{1}}}
	weeks, _ := Weeks(c, v, func(*Visit) Work { return Work{Openings: 1} }, mon, mon, mon)
	l := newLoad(c, mon)
	for i := range v {
		pr := PromiseOf(c.Apiary(v[i].ApiaryID), &v[i], mon)
		pr.Openings = 1
		l.Add(&pr)
	}
	at := stop{apiary: 9, trip: "hill", travel: 0.5, setup: c.Rules.Hours.Setup} // on the way to the others
	left := l.person(1).free(l, &at, mon)
	if got := weeks[0].Hours + left + c.Rules.Hours.Setup; math.Abs(got-c.Rules.Capacity.HoursADay) > hourSlip {
		t.Errorf("%.2f hours promised and %.2f left, with setup of %.2f, of a day of %.2f", weeks[0].Hours, left, c.Rules.Hours.Setup, c.Rules.Capacity.HoursADay)
	}
	if full := (&Week{Visits: 1, Most: 2, Hours: 8, Gives: 8}); !full.Full() || (&Week{Most: 2, Gives: 8}).Full() {
		t.Error("a week without hours left is full, an empty one is not")
	}
	if !slices.IsSortedFunc(weeks, func(a, b Week) int { return int(a.MemberID - b.MemberID) }) {
		t.Error("the weeks are not in the order of the members")
	}
}

// TestOneVisitHasOneLength: the week of whoever goes alone is as long as the visit.
func TestOneVisitHasOneLength(t *testing.T) {
	t.Parallel()
	mon := NewDate(2027, 6, 7)
	c := weeksClub()
	c.Rules.Hours.Hard, c.Rules.Hours.Stuck = 0.3, 2
	v := Visit{ApiaryID: 1, On: mon, Status: Confirmed, Who: []int64{1}, Boxes: []VisitBox{{Odds: 0.9, Stuck: 0.5}, {Odds: 0.4, Stuck: 0.1}}}
	weeks, _ := Weeks(c, []Visit{v}, (*Visit).Expected, mon, mon, mon)
	if want := ExpectedHours(c, &v); math.Abs(weeks[0].Hours-want) > hourSlip || want < 4.3 {
		t.Errorf("%.2f hours in the week, %.2f on the visit's page", weeks[0].Hours, want)
	}
	v.Who, v.NoTime = nil, true
	_, lacks := Weeks(c, []Visit{v}, (*Visit).Expected, mon, mon, mon)
	over := Overloads(c, []Lacking{{v.ApiaryID, v.On, v.Expected()}}, mon)
	if want := ExpectedHours(c, &v); math.Abs(lacks[0].Hours-want) > hourSlip || len(over) != 1 || math.Abs(over[0].Hours-want) > hourSlip {
		t.Errorf("%.2f hours nobody has in the week, %+v in the third of the month, want %.2f", lacks[0].Hours, over, want)
	}
}
