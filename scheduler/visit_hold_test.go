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
