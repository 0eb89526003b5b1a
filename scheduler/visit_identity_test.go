package scheduler

import (
	"cmp"
	"slices"
	"testing"
)

func TestReplanningAnUnchangedClubChangesNothing(t *testing.T) {
	seeds := []uint64{1093, 1950, 3240, 3259, 11933} // each was another way to change something
	for seed := range uint64(600) {
		seeds = append(seeds, seed)
	}
	for _, seed := range seeds {
		r := newDice(seed)
		today := testToday + Date(r.IntN(365))
		c := r.club(r.between(0, 12), today)
		if r.chance(0.5) {
			r.trouble(c, today)
		}
		if r.chance(0.6) {
			r.earlierPlan(c, today)
		}
		remember(c, PlanClub(c, today))
		for range 3 {
			again := PlanClub(c, today)
			was := standingPlan(c, again)
			if show(c, was) != show(c, again) || len(again.Cancel)+len(again.Past) > 0 {
				t.Fatalf("seed %d: %d cancelled; what was and what is:\n%s", seed, len(again.Cancel), differing(show(c, was), show(c, again)))
			}
			remember(c, again)
		}
	}
}

// standingPlan is what stands in a club as the plan that it came from, but for
// what is worked out about the boxes, which is that of another plan; both plans
// have the same order afterwards.
func standingPlan(c *Club, again *Plan) *Plan {
	was := &Plan{Today: again.Today, Boxes: again.Boxes}
	for _, v := range c.Visits {
		if v.Status.Open() && v.On >= again.Today && (v.On <= again.Today+HorizonDays || v.staysPut()) {
			was.Visits = append(was.Visits, v)
		}
	}
	for _, p := range []*Plan{was, again} {
		slices.SortFunc(p.Visits, func(a, b Visit) int { return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(a.ID, b.ID)) })
	}
	return was
}

// earlierPlan gives c visits that were planned before other openings came in,
// some of them moved by people.
func (r dice) earlierPlan(c *Club, today Date) {
	remember(c, PlanClub(c, today-Date(r.between(0, 20))))
	for i := range c.Visits {
		v := &c.Visits[i]
		if r.chance(0.2) {
			v.On += Date(r.between(-10, 10))
			v.Pinned = true
			v.Sequence++
		}
		if r.chance(0.1) && len(v.Boxes) > 0 {
			v.NotBoxes = append(v.NotBoxes, v.Boxes[r.IntN(len(v.Boxes))].BoxID)
		}
	}
	for h := range c.Apiaries[0].Hives {
		for b := range c.Apiaries[0].Hives[h].Boxes {
			box := &c.Apiaries[0].Hives[h].Boxes[b]
			if r.chance(0.2) && len(box.Openings) > 0 {
				box.Openings[len(box.Openings)-1].Joint = Difficulty(r.IntN(5))
			}
		}
	}
}

func TestMatch(t *testing.T) {
	tests := []struct {
		name     string
		old, now []int32
		want     []int
	}{
		{"nothing", nil, nil, nil},
		{"same days", []int32{3, 40}, []int32{3, 40}, []int{0, 1}},
		{"all new", nil, []int32{5, 9}, []int{-1, -1}},
		{"all dropped", []int32{5, 9}, nil, nil},
		{"moved as far as may be", []int32{10}, []int32{55}, []int{0}},
		{"moved too far", []int32{10}, []int32{56}, []int{-1}},
		{"one put in before", []int32{30, 90}, []int32{2, 30, 90}, []int{-1, 0, 1}},
		{"one dropped", []int32{2, 30, 90}, []int32{30, 90}, []int{1, 2}},
		{"nearest rather than first", []int32{60, 101}, []int32{100}, []int{1}},
		{"nearest rather than as many as possible", []int32{60, 101}, []int32{100, 140}, []int{1, -1}},
		{"both move rather than cross", []int32{10, 20}, []int32{18, 30}, []int{0, 1}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := match(tt.old, tt.now); !slices.Equal(got, tt.want) {
				t.Errorf("match(%v, %v) = %v, want %v", tt.old, tt.now, got, tt.want)
			}
		})
	}
}

// lateSpring is a club with boxes due at the end of May and its plan, stored.
func lateSpring(today Date) *Club {
	c := stand(date("2026-05-01"), []Opening{opened("2026-09-01", Loose)}, []Opening{opened("2026-09-01", Loose)},
		[]Opening{opened("2026-09-01", Loose)})
	remember(c, PlanClub(c, today))
	return c
}

func TestPeoplesWordOnVisits(t *testing.T) {
	today := date("2027-04-01")
	first := lateSpring(today).Visits[0]
	tests := []struct {
		name  string
		club  func(*Club)
		check func(*testing.T, *Club, *Plan)
	}{
		{"a visit put later, past the day its boxes were due", func(c *Club) {
			c.Visits[0].On, c.Visits[0].Pinned = first.On+30, true
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; v.ID != 1 || v.On != first.On+30 || len(v.Boxes) != 3 {
				t.Errorf("first visit is %d on %s with %d boxes", v.ID, v.On, len(v.Boxes))
			}
		}},
		{"a visit put sooner", func(c *Club) {
			c.Visits[0].On, c.Visits[0].Pinned = first.On-14, true
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; v.ID != 1 || v.On != first.On-14 || len(v.Boxes) != 3 {
				t.Errorf("first visit is %d on %s with %d boxes", v.ID, v.On, len(v.Boxes))
			}
		}},
		{"a visit put into winter", func(c *Club) {
			c.Visits = append(c.Visits, Visit{ID: 99, ApiaryID: 5, On: date("2027-12-27"), Status: Tentative, Pinned: true})
		}, func(t *testing.T, _ *Club, p *Plan) {
			v := p.Visits[slices.IndexFunc(p.Visits, func(v Visit) bool { return v.ID == 99 })]
			if v.On != date("2027-12-27") || len(v.Boxes) != 0 {
				t.Errorf("visit on %s with %d boxes, want none opened in winter", v.On, len(v.Boxes))
			}
		}},
		{"a visit put beyond the horizon", func(c *Club) {
			c.Visits = append(c.Visits, Visit{ID: 99, ApiaryID: 5, On: today + 500, Status: Tentative, Pinned: true})
		}, func(t *testing.T, _ *Club, p *Plan) {
			if !slices.ContainsFunc(p.Visits, func(v Visit) bool { return v.ID == 99 && v.On == today+500 }) {
				t.Error("it is gone")
			}
		}},
		{"a visit put on the landowner's days opens nothing", func(c *Club) {
			c.Visits[0].Pinned = true
			c.Apiaries[0].NoGo = []Period{{From: first.On - 3, Until: first.On + 3}}
		}, func(t *testing.T, _ *Club, p *Plan) {
			for _, v := range p.Visits {
				if v.ID == 1 && (v.On != first.On || len(v.Boxes) > 0) {
					t.Errorf("it is on %s with %d boxes", v.On, len(v.Boxes))
				}
			}
		}},
		{"two visits put on one day", func(c *Club) {
			c.Visits[0].Pinned = true
			c.Visits = append(c.Visits[:1], Visit{ID: 99, UID: "z", ApiaryID: 5, On: first.On, Status: Tentative, Pinned: true})
		}, func(t *testing.T, c *Club, p *Plan) {
			if a, b := p.Visits[0], p.Visits[1]; a.On != first.On || b.On != first.On || a.ID == b.ID || len(a.Boxes)+len(b.Boxes) != 3 {
				t.Errorf("the plan is\n%s", show(c, p))
			}
		}},
		{"a visit put into a standstill opens nothing", func(c *Club) {
			c.Visits[0].Pinned = true
			c.Apiaries[0].Standstill = []Period{{From: first.On - 3, Until: first.On + 3}}
		}, func(t *testing.T, _ *Club, p *Plan) {
			for _, v := range p.Visits {
				if v.ID == 1 && (v.On != first.On || len(v.Boxes) > 0) {
					t.Errorf("it is on %s with %d boxes", v.On, len(v.Boxes))
				}
			}
		}},
		{"a box taken off", func(c *Club) {
			c.Visits[0].NotBoxes = []int64{2}
		}, func(t *testing.T, c *Club, p *Plan) {
			if v := p.Visits[0]; v.ID != 1 || v.On != first.On || len(v.Boxes) != 2 || v.Lists(2) || v.Sequence != 1 {
				t.Errorf("first visit is\n%s", show(c, p))
			}
			if !slices.ContainsFunc(p.Visits, func(v Visit) bool { return v.Lists(2) }) {
				t.Error("the box is on no other visit")
			}
		}},
		{"who goes", func(c *Club) {
			c.Visits[0].Who = []int64{2}
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; !slices.Equal(v.Who, []int64{2}) || v.Sequence != 0 {
				t.Errorf("%v go, sequence %d", v.Who, v.Sequence)
			}
		}},
		{"nobody had time, and now they have", func(c *Club) {
			c.Visits[0].Who, c.Visits[0].NoTime = nil, true
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; !slices.Equal(v.Who, []int64{1, 2}) || v.Sequence != 1 || v.NoTime {
				t.Errorf("%v go, sequence %d", v.Who, v.Sequence)
			}
		}},
		{"who is expected is away that day", func(c *Club) {
			c.Visits[0].Who = []int64{2}
			c.Members[1].NoGo = []Period{{From: first.On - 3, Until: first.On + 3}}
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; !slices.Equal(v.Who, []int64{1}) || v.Sequence != 1 || v.On != first.On {
				t.Errorf("%v go on %s, sequence %d", v.Who, v.On, v.Sequence)
			}
		}},
		{"away, and goes all the same", func(c *Club) {
			c.Visits[0].Who, c.Visits[0].Taken = []int64{2}, []int64{2}
			c.Members[1].NoGo = []Period{{From: first.On - 3, Until: first.On + 3}}
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; !slices.Equal(v.Who, []int64{2}) || v.Sequence != 0 {
				t.Errorf("%v go, sequence %d", v.Who, v.Sequence)
			}
		}},
		{"all who look after it are away", func(c *Club) {
			c.Visits[0].Who, c.Visits[0].Pinned = []int64{2}, true
			for i := range c.Members {
				c.Members[i].NoGo = []Period{{From: first.On, Until: first.On}}
			}
		}, func(t *testing.T, _ *Club, p *Plan) {
			at := slices.IndexFunc(p.Visits, func(v Visit) bool { return v.ID == 1 })
			if v := p.Visits[at]; !slices.Equal(v.Who, []int64{2}) || v.On != first.On {
				t.Errorf("%v go on %s", v.Who, v.On)
			}
		}},
		{"others look after it, and nobody said that they go", func(c *Club) {
			c.Visits[0].Who = []int64{2}
			c.KeepersChanged(c.Visits[0].ApiaryID, first.On)
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; !slices.Equal(v.Who, []int64{1, 2}) || v.Sequence != 1 || v.On != first.On || v.AskAnew {
				t.Errorf("%v go on %s, sequence %d", v.Who, v.On, v.Sequence)
			}
		}},
		{"others look after it, and somebody said that they go", func(c *Club) {
			c.Visits[0].Who, c.Visits[0].Taken = []int64{2}, []int64{2}
			c.KeepersChanged(c.Visits[0].ApiaryID, first.On)
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; !slices.Equal(v.Who, []int64{2}) || v.Sequence != 0 {
				t.Errorf("%v go, sequence %d", v.Who, v.Sequence)
			}
		}},
		{"others look after it, and one of them cannot go", func(c *Club) {
			c.Visits[0].Who, c.Visits[0].Refused = nil, []int64{2}
			c.KeepersChanged(c.Visits[0].ApiaryID, first.On)
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; !slices.Equal(v.Who, []int64{1}) || v.Sequence != 1 {
				t.Errorf("%v go, sequence %d", v.Who, v.Sequence)
			}
		}},
		{"nobody goes", func(c *Club) {
			c.Visits[0].Who = nil
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; len(v.Who) != 0 {
				t.Errorf("%v go", v.Who)
			}
		}},
		{"the day is no longer free", func(c *Club) {
			c.Apiaries[0].NoGo = []Period{{From: first.On, Until: first.On + 60}}
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; v.ID != 1 || v.UID != first.UID || v.On >= first.On || v.Sequence != 1 {
				t.Errorf("first visit is %d (%s) on %s, sequence %d", v.ID, v.UID, v.On, v.Sequence)
			}
		}},
		{"who goes is away on the new day", func(c *Club) {
			c.Apiaries[0].NoGo = []Period{{From: first.On, Until: first.On + 60}}
			c.Members[0].NoGo = []Period{{From: today + 1, Until: first.On - 1}}
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; !slices.Equal(v.Who, []int64{2}) {
				t.Errorf("%v go on %s", v.Who, v.On)
			}
		}},
		{"those who go go along to the new day, and nobody else", func(c *Club) {
			c.Visits[0].Who = []int64{2}
			c.Apiaries[0].NoGo = []Period{{From: first.On, Until: first.On + 60}}
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; v.ID != 1 || v.On == first.On || !slices.Equal(v.Who, []int64{2}) {
				t.Errorf("%v go on %s", v.Who, v.On)
			}
		}},
		{"who is away on a day that stays is expected no more", func(c *Club) {
			c.Members[0].NoGo = []Period{{From: first.On, Until: first.On}}
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; v.On != first.On || !slices.Equal(v.Who, []int64{2}) || v.Sequence != 1 {
				t.Errorf("%v go on %s, sequence %d", v.Who, v.On, v.Sequence)
			}
		}},
		{"a person's visit keeps its people, but for who is away", func(c *Club) {
			c.Visits[0].On, c.Visits[0].Pinned = first.On-14, true
			c.Members[0].NoGo = []Period{{From: first.On - 14, Until: first.On - 14}}
		}, func(t *testing.T, _ *Club, p *Plan) {
			if v := p.Visits[0]; v.ID != 1 || v.On != first.On-14 || !slices.Equal(v.Who, []int64{2}) {
				t.Errorf("%v go on %s", v.Who, v.On)
			}
		}},
		{"a visit put so far past its day that it is meant for other work", func(c *Club) {
			c.Visits[0].On, c.Visits[0].Pinned = first.On+60, true
		}, func(t *testing.T, c *Club, p *Plan) {
			if v := p.Visits[0]; v.ID == 1 || v.On > first.On || len(v.Boxes) != 3 {
				t.Errorf("the plan is\n%s", show(c, p))
			}
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := lateSpring(today)
			tt.club(c)
			tt.check(t, c, PlanClub(c, today))
		})
	}
}

// What was written down of a box by mistake and taken back leaves it where it was: on
// the visit that somebody is on.
func TestABoxTakenBackIsOnTheVisitAgain(t *testing.T) {
	first := lateSpring(date("2027-04-01")).Visits[0]
	today := first.On - 7
	for _, back := range []bool{false, true} {
		c := lateSpring(date("2027-04-01"))
		v, done := &c.Visits[0], &c.Apiaries[0].Hives[2].Boxes[0]
		v.On, v.Status = today, Confirmed
		v.Boxes = slices.DeleteFunc(v.Boxes, func(b VisitBox) bool { return b.BoxID != 1 })
		done.Openings = append(done.Openings, opened(today.String(), Loose))
		c.Visits = append(c.Visits, Visit{ID: 99, UID: "z", ApiaryID: 5, On: first.On, Status: Confirmed, Pinned: true, Boxes: []VisitBox{{BoxID: 2, Due: first.On}}})
		if back {
			c.TakenBack(2, today)
		}
		p := PlanClub(c, today)
		if v := p.Visits[0]; v.ID != 1 || v.On != today || !v.Lists(1) || v.Lists(2) != back || len(v.Returned) > 0 {
			t.Errorf("taken back: %t; first visit is\n%s", back, show(c, p))
		}
	}
}

// TestVisitsWithinTheNoticeAreConfirmed: the default notice is 14 days.
func TestVisitsWithinTheNoticeAreConfirmed(t *testing.T) {
	today := date("2027-04-01")
	c := lateSpring(today)
	c.Visits = nil
	for i, ahead := range []Date{3, 14, 15} {
		c.Visits = append(c.Visits, Visit{ID: int64(i + 1), ApiaryID: 5, On: today + ahead, Status: Tentative, Pinned: true})
	}
	p := PlanClub(c, today)
	for i, want := range []VisitStatus{Confirmed, Confirmed, Tentative} {
		if v := p.Visits[i]; v.ID != int64(i+1) || v.Status != want {
			t.Errorf("visit %d on %s is %s, want %s", v.ID, v.On, v.Status, want)
		}
	}
	// The first is confirmed however far ahead it is, and one that was confirmed stays so.
	c.Visits = []Visit{{ID: 1, ApiaryID: 5, On: today + 15, Status: Tentative, Pinned: true}, {ID: 2, ApiaryID: 5, On: today + 20, Status: Confirmed, Pinned: true}}
	for _, v := range PlanClub(c, today).Visits[:2] {
		if v.Status != Confirmed {
			t.Errorf("visit %d on %s is %s", v.ID, v.On, v.Status)
		}
	}
}

// TestAnotherDutyIsAChange: people hear when a visit that stays on its day is
// now the one that its stage asks for.
func TestAnotherDutyIsAChange(t *testing.T) {
	lately := []Opening{opened("2027-08-30", Loose)}
	today := date("2027-09-20")
	c := stand(date("2026-05-01"), lately)
	c.Rules.Stages[Autumn].Required = NothingRequired
	c.Visits = []Visit{{ID: 1, UID: "a", ApiaryID: 5, On: date("2027-10-02"), Status: Confirmed, Pinned: true, Who: []int64{1, 2}}}
	for _, tt := range []struct {
		asks     Required
		sequence int
	}{{NothingRequired, 0}, {VisitRequired, 1}} {
		c.Rules.Stages[Autumn].Required = tt.asks
		v := PlanClub(c, today).Visits[0]
		if v.ID != 1 || len(v.Boxes) != 0 || v.For != tt.asks || v.Sequence != tt.sequence {
			t.Errorf("autumn asks for %q, and the visit is %+v", tt.asks, v)
		}
	}
}

func TestFixedVisitsStayWhereTheyAre(t *testing.T) {
	fixed, off := 0, 0
	for seed := range uint64(600) {
		r := newDice(seed)
		today := testToday + Date(r.IntN(365))
		c := r.club(r.between(1, 12), today)
		if r.chance(0.3) {
			r.rules(c)
		}
		r.earlierPlan(c, today)
		if r.chance(0.3) {
			r.trouble(c, today)
		}
		p := PlanClub(c, today)
		seen := map[int64]bool{}
		for _, list := range [][]Visit{p.Visits, p.Cancel, p.Past} {
			for _, v := range list {
				if v.ID != 0 && seen[v.ID] {
					t.Fatalf("seed %d: visit %d comes out twice", seed, v.ID)
				}
				seen[v.ID] = true
			}
		}
		for _, was := range c.Visits {
			if !was.Status.Open() || was.On < today || was.On > today+HorizonDays {
				continue
			}
			if !seen[was.ID] {
				t.Fatalf("seed %d: visit %d is lost", seed, was.ID)
			}
			for _, v := range p.Visits {
				if v.ID != was.ID || !was.Pinned && len(was.NotBoxes) == 0 {
					continue
				}
				fixed++
				if v.On != was.On || v.UID != was.UID {
					t.Errorf("seed %d: visit %d of a person moved from %s to %s", seed, v.ID, was.On, v.On)
				}
				for _, id := range was.NotBoxes {
					off++
					if v.Lists(id) {
						t.Errorf("seed %d: visit %d opens box %d, which was taken off", seed, v.ID, id)
					}
				}
			}
		}
	}
	if fixed < 500 || off < 100 {
		t.Errorf("only %d fixed visits and %d boxes taken off", fixed, off)
	}
}
