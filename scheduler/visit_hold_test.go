package scheduler

import "testing"

// TestConfirmedVisitsAreHeld moves the best day of a confirmed visit a little
// and a lot.
func TestConfirmedVisitsAreHeld(t *testing.T) {
	today := date("2027-04-01")
	best := lateSpring(today).Visits[0].On
	put := func(c *Club, on Date) {
		c.Visits = c.Visits[:1]
		c.Visits[0].On, c.Visits[0].Status = on, Confirmed
	}
	tests := []struct {
		name string
		club func(*Club)
		want Date
	}{
		{"on the best day", func(c *Club) { put(c, best) }, best},
		{"three days before", func(c *Club) { put(c, best-3) }, best - 3},
		{"three days before, nothing held", func(c *Club) { put(c, best-3); c.Rules.HoldHours = 0 }, best},
		{"three days before, tentative", func(c *Club) { put(c, best-3); c.Visits[0].Status = Tentative }, best},
		{"after the day by which the stage asks", func(c *Club) { put(c, best+20) }, best},
		{"before boxes may be opened", func(c *Club) { put(c, today+1) }, best},
		{"the hives may not be opened then", func(c *Club) {
			put(c, best-3)
			for h := range c.Apiaries[0].Hives {
				c.Apiaries[0].Hives[h].LeaveAlone = []Period{{From: best - 5, Until: best - 1}}
			}
		}, best},
		{"nobody can come then", func(c *Club) {
			put(c, best-3)
			c.Apiaries[0].NoGo = []Period{{From: best - 3, Until: best - 3}}
		}, best},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := lateSpring(today)
			tt.club(c)
			was := c.Visits[0]
			v := PlanClub(c, today).Visits[0]
			if v.On != tt.want || v.ID != was.ID {
				t.Errorf("visit %d on %s, want %d on %s", v.ID, v.On, was.ID, tt.want)
			}
			if moved := v.On != was.On; moved != (v.Sequence > was.Sequence) && was.Status == Confirmed {
				t.Errorf("sequence %d after %d", v.Sequence, was.Sequence)
			}
		})
	}
}

// TestAVisitOfDutyIsNotHeldOnAClosedDay: autumn asks for a visit, which stood
// on a day that the landowner has taken since.
func TestAVisitOfDutyIsNotHeldOnAClosedDay(t *testing.T) {
	c := stand(date("2026-05-01"), []Opening{opened("2027-08-30", Loose)})
	remember(c, PlanClub(c, date("2027-09-05")))
	was := c.Visits[0]
	if was.For != VisitRequired || len(was.Boxes) > 0 {
		t.Fatalf("the first visit is %+v, want autumn's", was)
	}
	for _, closed := range []bool{false, true} {
		if closed {
			c.Apiaries[0].NoGo = []Period{{From: was.On, Until: was.On}}
		}
		v := PlanClub(c, was.On-5).Visits[0]
		if v.ID != was.ID || v.For != VisitRequired || (v.On != was.On) != closed {
			t.Errorf("closed %t: visit %d on %s, which stood on %s", closed, v.ID, v.On, was.On)
		}
	}
}

// TestAHoldGivenUpBindsNothing: a confirmed visit whose boxes another one near
// it can open as well costs a journey to hold; they go with the other.
func TestAHoldGivenUpBindsNothing(t *testing.T) {
	today := date("2027-04-01")
	c := lateSpring(today)
	best := c.Visits[0]
	c.Visits = []Visit{best, {ID: 99, UID: "z", ApiaryID: 5, On: best.On, Status: Tentative, Pinned: true}}
	c.Visits[0].On, c.Visits[0].Status = best.On-3, Confirmed
	p := PlanClub(c, today)
	if v := p.Visits[0]; v.ID != 99 || len(v.Boxes) != 3 || len(p.Cancel) == 0 || p.Cancel[0].ID != best.ID {
		t.Errorf("called off %v; the plan is\n%s", p.Cancel, show(c, p))
	}
}
