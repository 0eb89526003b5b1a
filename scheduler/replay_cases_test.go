package scheduler

import (
	"math"
	"slices"
	"testing"
)

// twoHives returns a club of two hives in one apiary, with the boxes that each
// holds.
func twoHives(first, second []Box) *Club {
	return &Club{Rules: DefaultRules(), Apiaries: []Apiary{{ID: 1, Latitude: 48, Hives: []Hive{
		{ID: 1, Boxes: first}, {ID: 2, Boxes: second},
	}}}}
}

func onHive(from Date, hive int64, position int) BoxPlace {
	return BoxPlace{From: from, Where: OnHive, HiveID: hive, Position: position}
}

func TestMovedBoxKeepsItsPartAndTakesTheHives(t *testing.T) {
	setUp, moved, today := NewDate(2025, 4, 1), NewDate(2026, 5, 1), NewDate(2026, 6, 1)
	hard := []Opening{{On: NewDate(2025, 8, 1), Joint: Hard, Scraped: ScrapedAll}}
	loose := []Opening{{On: NewDate(2025, 8, 1), Joint: Loose, Scraped: ScrapedAll}}
	c := twoHives(
		[]Box{{ID: 1, SetUpOn: setUp, Openings: hard}},
		[]Box{
			{ID: 2, SetUpOn: setUp, Openings: loose},
			{ID: 3, SetUpOn: setUp, Openings: hard, Places: []BoxPlace{onHive(setUp, 1, 2), onHive(moved, 2, 2)}},
		})
	run := newReplay(c)
	run.run(moved-1, nil)
	before := []HiveState{run.hives[0].state, run.hives[1].state}
	for i := range before {
		before[i].advance(moved)
	}
	rate, _ := Replay(c, today).Of(3)
	third := before[0].find(3) + 1
	if want := before[0].Mean[third] + before[1].Mean[0]; math.Abs(rate.Mean-want) > 1e-12 {
		t.Errorf("mean %g, want its own part and its new hive's, %g", rate.Mean, want)
	}
	n := len(before[0].Mean)
	want := before[0].Cov[third*n+third] + drift(before[0].On, today) + before[1].Cov[0]
	if got := rate.VarianceOn(today); math.Abs(got-want) > 1e-12 {
		t.Errorf("variance %g, want %g", got, want)
	}
	if rate.HiveID != 2 || rate.Since != moved || rate.From != NewDate(2025, 8, 1) {
		t.Errorf("stands on %d since %v, waits from %v", rate.HiveID, rate.Since, rate.From)
	}
	s := NewSeason(c.Apiaries[0].Place(), &c.Rules)
	if got, want := rate.Age(s, today), s.SealingDays(rate.From, today); math.Abs(got-want) > 1e-9 {
		t.Errorf("%g sealing days, want %g: moving breaks no seal", got, want)
	}
}

// On one day openings come before moves, from the top as the stack stood in
// the morning.
func TestOneDay(t *testing.T) {
	setUp, day := NewDate(2025, 4, 1), NewDate(2025, 9, 1)
	club := func(first, second Difficulty, lower, upper []BoxPlace) *Club {
		return twoHives([]Box{
			{ID: 1, SetUpOn: setUp, Places: lower, Openings: []Opening{{On: day, Joint: first}}},
			{ID: 2, SetUpOn: setUp, Places: upper, Openings: []Opening{{On: day, Joint: second}}},
		}, nil)
	}
	h := hiveOf(2, setUp)
	c := club(Stuck, Loose, nil, nil)
	age := NewSeason(c.Apiaries[0].Place(), &c.Rules).SealingDays(setUp, day)
	h.advance(day)
	h.observe(1, age, spanOf(Loose)) // the upper box
	h.observe(0, age, spanOf(Stuck))
	want := [2]float64{h.Rate(0).Mean, h.Rate(1).Mean}
	check := func(name string, c *Club) {
		got := Replay(c, day)
		if math.Abs(got[0].Mean-want[0]) > 1e-12 || math.Abs(got[1].Mean-want[1]) > 1e-12 {
			t.Errorf("%s: means %g and %g, want %g and %g", name, got[0].Mean, got[1].Mean, want[0], want[1])
		}
	}
	check("as the records list them", c)
	check("by their places", club(Stuck, Loose, []BoxPlace{onHive(setUp, 1, 1)}, []BoxPlace{onHive(setUp, 1, 2)}))
	check("changed over that day", club(Stuck, Loose,
		[]BoxPlace{onHive(setUp, 1, 1), onHive(day, 1, 2)}, []BoxPlace{onHive(setUp, 1, 2), onHive(day, 1, 1)}))
	check("placed twice on the day it was set up", club(Stuck, Loose,
		[]BoxPlace{onHive(setUp, 2, 7), onHive(setUp, 1, 1)}, []BoxPlace{onHive(setUp, 1, 2)}))
	check("placed before it was set up", club(Stuck, Loose,
		[]BoxPlace{onHive(setUp-100, 1, 1)}, []BoxPlace{onHive(setUp-3, 1, 2)}))

	swapped := club(Loose, Stuck, []BoxPlace{onHive(setUp, 1, 2)}, []BoxPlace{onHive(setUp, 1, 1)})
	got := Replay(swapped, day)
	if math.Abs(got[1].Mean-want[0]) > 1e-12 || math.Abs(got[0].Mean-want[1]) > 1e-12 {
		t.Errorf("the other way up: means %g and %g", got[1].Mean, got[0].Mean)
	}
}

func TestRecordsWithHoles(t *testing.T) {
	today := NewDate(2026, 6, 1)
	tests := []struct {
		name string
		box  Box
		from Date
		age  bool // it has some
	}{
		{"nothing but its mark", Box{ID: 1}, today, false},
		{"no day of setting up, an opening", Box{ID: 1, Openings: []Opening{{On: NewDate(2026, 4, 20), Joint: Hard}}}, NewDate(2026, 4, 20), true},
		{"no day of setting up, a place", Box{ID: 1, Places: []BoxPlace{onHive(NewDate(2026, 4, 20), 1, 1)}}, NewDate(2026, 4, 20), true},
		{"opened before it was set up", Box{ID: 1, SetUpOn: NewDate(2026, 5, 1), Openings: []Opening{{On: NewDate(2026, 4, 20), Joint: Hard}}}, NewDate(2026, 4, 20), true},
		{"set up tomorrow", Box{ID: 1, SetUpOn: today + 1}, today + 1, false},
		{"in store", Box{ID: 1, SetUpOn: NewDate(2026, 4, 1), Places: []BoxPlace{{From: NewDate(2026, 4, 1), Where: InStore}}}, NewDate(2026, 4, 1), false},
		{"on a hive that is not there", Box{ID: 1, SetUpOn: NewDate(2026, 4, 1), Places: []BoxPlace{onHive(NewDate(2026, 4, 1), 77, 1)}}, NewDate(2026, 4, 1), true},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			c := twoHives([]Box{test.box}, nil)
			r := Replay(c, today)[0]
			age := r.Age(NewSeason(c.Apiaries[0].Place(), &c.Rules), today)
			if r.From != test.from || (age > 0) != test.age || age > 100 {
				t.Errorf("waits from %v with %g sealing days", r.From, age)
			}
			if math.Abs(r.Mean) > 1e-12 || r.VarianceOn(today) < 0.45-1e-12 {
				t.Errorf("mean %g and variance %g without anything to learn from", r.Mean, r.VarianceOn(today))
			}
		})
	}
}

// What boxes tell of each other runs on through a hive that a box has left.
func TestReplayOfAnApiaryFollowsAChain(t *testing.T) {
	day := NewDate(2025, 5, 1)
	hard := func(days ...Date) []Opening {
		var out []Opening
		for _, d := range days {
			out = append(out, Opening{On: day + d, Joint: Hard, Scraped: ScrapedAll})
		}
		return out
	}
	// box 4 tells of hive 5 and so of box 3, that of hive 3 and so of box 1
	c := &Club{Rules: DefaultRules(), Apiaries: []Apiary{
		{ID: 1, Latitude: 54, Hives: []Hive{{ID: 5, Boxes: []Box{{ID: 4, SetUpOn: day, Openings: hard(70)}}}}},
		{ID: 2, Latitude: 52, Hives: []Hive{{ID: 3, Boxes: []Box{
			{ID: 3, SetUpOn: day, Openings: hard(80, 150), Places: []BoxPlace{onHive(day, 5, 2), onHive(day+100, 3, 1)}},
		}}}},
		{ID: 3, Latitude: 48, Hives: []Hive{{ID: 1, Boxes: []Box{
			{ID: 1, SetUpOn: day, Openings: hard(200), Places: []BoxPlace{onHive(day, 3, 2), onHive(day+310, 1, 1)}},
		}}}},
		{ID: 4, Latitude: 50, Hives: []Hive{{ID: 2, Boxes: []Box{{ID: 2, SetUpOn: day, Openings: hard(30)}}}}},
	}}
	all := Replay(c, day+400)
	if got := ReplayApiary(c, 3, day+400); !slices.Equal(got, all[2:3]) {
		t.Errorf("%+v, want %+v", got, all[2:3])
	}
	c.Apiaries[0].Hives[0].Boxes[0].Openings[0].Joint = Loose
	if again := Replay(c, day+400); again[2].Mean == all[2].Mean || again[3] != all[3] {
		t.Errorf("box 1 learnt nothing from box 4, or box 2 did: %+v", again)
	}
}

func TestStoreAndLoanStopTheSeal(t *testing.T) {
	setUp, off, back, today := NewDate(2026, 6, 10), NewDate(2026, 7, 10), NewDate(2027, 6, 10), NewDate(2027, 6, 20)
	for _, where := range []Where{InStore, Lent} {
		c := twoHives([]Box{{ID: 1, SetUpOn: setUp, Places: []BoxPlace{
			onHive(setUp, 1, 1), {From: off, Where: where}, onHive(back, 1, 1),
		}}}, nil)
		s := NewSeason(c.Apiaries[0].Place(), &c.Rules)
		r := Replay(c, today)[0]
		if got := r.Age(s, today); got != 40 { // 30 days of flow, 10 more
			t.Errorf("%s: %g sealing days, want 40", where, got)
		}
		r = Replay(c, off+100)[0]
		if got := r.Age(s, off+100); got != 30 || r.HiveID != 0 {
			t.Errorf("%s: %g sealing days away from hive %d, want 30 on none", where, got, r.HiveID)
		}
	}
}
