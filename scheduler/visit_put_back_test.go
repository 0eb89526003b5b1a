package scheduler

import (
	"reflect"
	"slices"
	"testing"
)

// movesOf are the moves that a plan by new rules made of the visits of c, as a
// store notes them.
func movesOf(c *Club, p *Plan) []VisitMove {
	var out []VisitMove
	was := map[int64]*Visit{}
	for i := range c.Visits {
		was[c.Visits[i].ID] = &c.Visits[i]
	}
	for _, list := range [][]Visit{p.Visits, p.Cancel} {
		for i := range list {
			v := &list[i]
			if o := was[v.ID]; o != nil && (o.On != v.On || o.Status.Open() != v.Status.Open()) {
				out = append(out, VisitMove{v.ID, VisitStand{o.On, o.Status, o.Sequence}, VisitStand{v.On, v.Status, v.Sequence}})
			}
		}
	}
	return out
}

// TestPlanBack: a visit stood confirmed three days before its best day, where
// planning alone would not put it back, and other rules moved it to that day.
func TestPlanBack(t *testing.T) {
	early := date("2027-04-01")
	best := lateSpring(early).Visits[0].On
	stood := best - 3
	tests := []struct {
		name  string
		since func(c *Club, v *Visit, moves []VisitMove) []VisitMove
		today Date
		on    Date
		what  PutBack
	}{
		{"nobody touched it", nil, early, stood, WentBack},
		{"the next day", nil, early + 1, stood, WentBack},
		{"somebody said that they go", func(_ *Club, v *Visit, m []VisitMove) []VisitMove { _ = v.Take(1); return m }, early, best, Touched},
		{"somebody pinned it", func(_ *Club, v *Visit, m []VisitMove) []VisitMove {
			v.Pinned = true
			v.happen(VisitReplanned)
			return m
		}, early, best, Touched},
		{"somebody cannot go", func(_ *Club, v *Visit, m []VisitMove) []VisitMove { _ = v.HandOff(1); return m }, early, best, Touched},
		{"somebody moved it on", func(_ *Club, v *Visit, m []VisitMove) []VisitMove { _ = v.Move(best + 2); return m }, early, best + 2, Touched},
		{"somebody put it back already", func(_ *Club, v *Visit, m []VisitMove) []VisitMove { _ = v.Move(stood); return m }, early, stood, ""},
		{"the day is over", nil, stood + 1, best, TooNear},
		{"the day is tomorrow", nil, stood - 1, best, TooNear},
		{"the day is as far as the move notice", nil, stood - 3, stood, WentBack},
		{"nobody can come then any more", func(c *Club, _ *Visit, m []VisitMove) []VisitMove {
			c.Apiaries[0].NoGo = []Period{{From: stood, Until: stood}}
			return m
		}, early, best, PlannedAnew},
		{"called off by a person", func(_ *Club, v *Visit, m []VisitMove) []VisitMove { _ = v.CallOff(best + 30); return m }, early, 0, ""},
		{"two changes, both put back", func(_ *Club, v *Visit, m []VisitMove) []VisitMove {
			now := VisitStand{best + 2, Confirmed, v.Sequence + 4}
			m = append([]VisitMove{{v.ID, VisitStand{v.On, v.Status, v.Sequence}, now}}, m...)
			v.On, v.Sequence = now.On, now.Sequence
			return m
		}, early, stood, WentBack},
		{"two changes, touched between them", func(_ *Club, v *Visit, m []VisitMove) []VisitMove {
			now := VisitStand{best + 2, Confirmed, v.Sequence + 4}
			m = append([]VisitMove{{v.ID, VisitStand{best - 1, v.Status, v.Sequence + 3}, now}}, m...)
			v.On, v.Sequence = now.On, now.Sequence
			return m
		}, early, best - 1, WentBack},
		{"the change had no use for it", func(_ *Club, v *Visit, m []VisitMove) []VisitMove {
			v.On = stood
			v.happen(VisitDropped)
			m[0].Now = VisitStand{stood, Cancelled, v.Sequence}
			return m
		}, early, stood, WentBack},
		{"the change had no use for it, and it would be too soon", func(_ *Club, v *Visit, m []VisitMove) []VisitMove {
			v.On = stood
			v.happen(VisitDropped)
			m[0].Now = VisitStand{stood, Cancelled, v.Sequence}
			return m
		}, stood - 2, 0, TooNear},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := lateSpring(early)
			c.Visits = c.Visits[:1]
			v := &c.Visits[0]
			v.On, v.Status, v.Sequence = stood, Confirmed, 5
			held := c.Rules
			c.Rules.HoldHours = 0
			p := PlanClub(c, early)
			moves := movesOf(c, p)
			if len(moves) != 1 || moves[0].Now.On != best {
				t.Fatalf("the other rules moved %+v", moves)
			}
			remember(c, p)
			c.Visits, c.Rules = c.Visits[:1], held
			v = &c.Visits[0]
			if tt.since != nil {
				moves = tt.since(c, v, moves)
			}
			before := *v
			club := *c
			club.Visits = slices.Clone(c.Visits)
			got, became := PlanBack(c, moves, tt.today, func(c *Club) *Plan { return PlanClub(c, tt.today) })
			if !reflect.DeepEqual(*c, club) {
				t.Error("it wrote into the club")
			}
			now := got.visit(before.ID)
			switch {
			case tt.on == 0 && now != nil:
				t.Errorf("it is on %s, want it out", now.On)
			case tt.on != 0 && (now == nil || now.On != tt.on):
				t.Errorf("%+v, want it on %s; the plan is\n%s", now, tt.on, show(c, got))
			case tt.what == WentBack && (now.Sequence <= before.Sequence || now.Status != Confirmed || len(now.Boxes) == 0):
				t.Errorf("went back as %+v, which was %+v", now, before)
			}
			if became[before.ID] != tt.what {
				t.Errorf("it became %q, want %q", became[before.ID], tt.what)
			}
		})
	}
}

// TestPlanBackOfManyClubs: to other rules and back on one day, with nobody
// doing anything between, nearly every visit stands where it stood, and what is
// said of each is so.
func TestPlanBackOfManyClubs(t *testing.T) {
	back, moved := 0, 0
	for seed := range uint64(60) {
		c := twoApiaries(seed)
		c.Rules.MoveNotice = 0 // days that are near may come back too
		remember(c, PlanClub(c, testToday))
		stood := slices.Clone(c.Visits)
		held := c.Rules
		c.Rules.OddsLimit, c.Rules.MinDays = 0.08, 40
		p := PlanClub(c, testToday)
		moves := movesOf(c, p)
		remember(c, p)
		c.Rules = held
		got, became := PlanBack(c, moves, testToday, func(c *Club) *Plan { return PlanClub(c, testToday) })
		moved += len(moves)
		for id, what := range became {
			v := got.visit(id)
			i := slices.IndexFunc(stood, func(v Visit) bool { return v.ID == id })
			if what == WentBack {
				back++
				if v == nil || v.On != stood[i].On || v.Sequence <= stood[i].Sequence {
					t.Errorf("seed %d: visit %d is said to be back on %s, and is %+v", seed, id, stood[i].On, v)
				}
			}
		}
	}
	if moved < 100 || back < moved*9/10 {
		t.Errorf("%d of %d moves went back", back, moved)
	}
}
