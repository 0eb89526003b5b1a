package scheduler

import (
	"testing"
)

// TestHarderIsNeverLater raises the difficulty of one recorded opening.
func TestHarderIsNeverLater(t *testing.T) {
	sooner := 0
	for seed := range uint64(1000) {
		r := newDice(seed)
		today := testToday + Date(r.IntN(365))
		c := r.club(r.between(1, 10), today)
		if r.chance(0.5) {
			r.trouble(c, today)
		}
		a := &c.Apiaries[0]
		before := PlanClub(c, today)
		hive := &a.Hives[r.IntN(len(a.Hives))]
		box := &hive.Boxes[r.IntN(len(hive.Boxes))]
		if len(box.Openings) == 0 {
			continue
		}
		o := &box.Openings[r.IntN(len(box.Openings))]
		o.Joint = o.Difficulty() + 1
		if o.Joint > Stuck {
			continue
		}
		after := PlanClub(c, today)
		for i := range after.Boxes {
			was, is := before.Boxes[i], after.Boxes[i]
			if is.BoxID == box.ID && is.Due > was.Due {
				t.Fatalf("seed %d: box %d due %s, with a harder opening on %s only %s (%+v, %+v)",
					seed, is.BoxID, was.Due, o.On, is.Due, was, is)
			}
			if is.BoxID == box.ID && is.Due < was.Due {
				sooner++
			}
		}
	}
	if sooner < 150 {
		t.Errorf("only %d due days came sooner", sooner)
	}
}

// TestDue works each due day out again from the season's dates.
func TestDue(t *testing.T) {
	never := func(c *Club) { c.Rules.OddsLimit = 0.9; c.Rules.MaxDays = 1500 }
	unasked := func(c *Club) { c.Rules.Stages[BuildUp].Required = NothingRequired }
	season := func(c *Club) *Season { return NewSeason(c.Apiaries[0].Place(), &c.Rules) }
	middle := func(c *Club, year int) Date {
		s := season(c).Starts(year)
		return s[BuildUp] + (s[Flow]-1-s[BuildUp])/2
	}
	lastBefore := func(c *Club, year int) Date { // the last day before the reseal days
		return season(c).Starts(year)[Winter] - Date(c.Rules.ResealDays) - 1
	}
	tests := []struct {
		name   string
		today  string
		setUp  string
		opened []Opening
		club   func(*Club)
		want   func(*Club) Date
		reason Reason
		moved  Closing
	}{
		{
			"longest wait", "2027-06-01", "2026-01-01",
			[]Opening{opened("2027-05-25", Loose)},
			func(c *Club) { never(c); unasked(c); c.Rules.MaxDays = 60 },
			func(c *Club) Date { return date("2027-05-25") + 60 }, BecauseLongest, "",
		},
		{
			"never opened: from the day it was set up", "2027-06-01", "2027-05-25", nil,
			func(c *Club) { never(c); unasked(c); c.Rules.MaxDays = 60 },
			func(c *Club) Date { return date("2027-05-25") + 60 }, BecauseLongest, "",
		},
		{
			"not before the least wait", "2027-06-01", "2026-01-01",
			[]Opening{opened("2027-05-25", Loose)},
			func(c *Club) { never(c); unasked(c); c.Rules.MaxDays, c.Rules.MinDays = 30, 45 },
			func(c *Club) Date { return date("2027-05-25") + 45 }, BecauseLongest, "",
		},
		{
			"the stage asks", "2027-03-01", "2026-01-01",
			[]Opening{opened("2026-09-01", Loose)},
			never,
			func(c *Club) Date { return middle(c, 2027) }, BecauseRequired, "",
		},
		{
			"the stage was answered", "2027-05-20", "2026-01-01",
			[]Opening{opened("2027-04-25", Loose)},
			never,
			func(c *Club) Date { return middle(c, 2028) }, BecauseRequired, "",
		},
		{
			"the stage was answered on its first day", "2027-05-20", "2026-01-01", nil,
			func(c *Club) {
				never(c)
				c.Apiaries[0].Hives[0].Boxes[0].Openings = []Opening{{ID: "x", On: season(c).Starts(2027)[BuildUp], Joint: Loose, Frames: NotTried, Scraped: ScrapedAll}}
			},
			func(c *Club) Date { return middle(c, 2028) }, BecauseRequired, "",
		},
		{
			"due today is not overdue", "2027-07-24", "2026-01-01",
			[]Opening{opened("2027-05-25", Loose)},
			func(c *Club) { never(c); unasked(c); c.Rules.MaxDays = 60 },
			func(c *Club) Date { return date("2027-07-24") }, BecauseLongest, "",
		},
		{
			"due yesterday is", "2027-07-25", "2026-01-01",
			[]Opening{opened("2027-05-25", Loose)},
			func(c *Club) { never(c); unasked(c); c.Rules.MaxDays = 60 },
			func(c *Club) Date { return date("2027-07-24") }, BecauseLongest, "",
		},
		{
			"the stage was answered by setting up", "2027-05-20", "2027-04-25", nil, never,
			func(c *Club) Date { return middle(c, 2028) }, BecauseRequired, "",
		},
		{
			"the stage is over", "2027-07-01", "2026-01-01",
			[]Opening{opened("2026-09-01", Loose)},
			never,
			func(c *Club) Date { return middle(c, 2028) }, BecauseRequired, "",
		},
		{
			"the stage goes on past its middle", "2027-05-20", "2026-01-01",
			[]Opening{opened("2026-09-01", Loose)},
			never,
			func(c *Club) Date { return middle(c, 2027) }, BecauseRequired, "",
		},
		{
			"back out of winter", "2027-09-01", "2026-01-01",
			[]Opening{opened("2027-07-01", Loose)},
			func(c *Club) { never(c); c.Rules.MaxDays = 170 },
			func(c *Club) Date { return lastBefore(c, 2027) }, BecauseLongest, ClosedWinter,
		},
		{
			"back out of the days before winter", "2027-09-01", "2026-01-01",
			[]Opening{opened("2027-07-01", Loose)},
			func(c *Club) { never(c); c.Rules.MaxDays = 112 },
			func(c *Club) Date { return lastBefore(c, 2027) }, BecauseLongest, ClosedReseal,
		},
		{
			"forward out of winter", "2027-11-20", "2026-01-01",
			[]Opening{opened("2027-07-01", Loose)},
			func(c *Club) { never(c); c.Rules.MaxDays = 170 },
			func(c *Club) Date { return season(c).Starts(2028)[BuildUp] }, BecauseLongest, ClosedWinter,
		},
		{
			"back out of the landowner's days", "2027-06-01", "2026-01-01",
			[]Opening{opened("2027-05-25", Loose)},
			func(c *Club) {
				never(c)
				c.Rules.MaxDays = 60
				c.Apiaries[0].NoGo = []Period{{From: date("2027-07-10"), Until: date("2027-07-30")}}
			},
			func(c *Club) Date { return date("2027-07-09") }, BecauseLongest, ClosedOwner,
		},
		{
			"forward out of leave-alone days that have begun", "2027-07-12", "2026-01-01",
			[]Opening{opened("2027-05-25", Loose)},
			func(c *Club) {
				never(c)
				c.Rules.MaxDays = 60
				c.Apiaries[0].Hives[0].LeaveAlone = []Period{{From: date("2027-07-10"), Until: date("2027-07-30")}}
			},
			func(c *Club) Date { return date("2027-07-31") }, BecauseLongest, ClosedHive,
		},
		{
			"in the tropics no stage asks", "2027-03-01", "2026-01-01",
			[]Opening{opened("2026-09-01", Loose)},
			func(c *Club) {
				never(c)
				c.Rules.MaxDays = 700
				c.Rules.Stages[Flow].Required = OpeningRequired
				c.Apiaries[0].Latitude = -1.3
			},
			func(c *Club) Date { return date("2026-09-01") + 700 }, BecauseLongest, "",
		},
		{
			"left shut: due as before", "2027-08-12", "2026-01-01",
			[]Opening{opened("2027-05-25", Loose), {ID: "x", On: date("2027-08-10"), Joint: Stuck, LeftShut: true}},
			func(c *Club) { never(c); c.Rules.MaxDays = 60 },
			func(c *Club) Date { return date("2027-05-25") + 60 }, BecauseLongest, "",
		},
		{
			"left shut is not the opening that the stage asks for", "2027-05-20", "2026-01-01",
			[]Opening{opened("2026-09-01", Loose), {ID: "x", On: date("2027-04-25"), Joint: Stuck, LeftShut: true}},
			func(c *Club) { never(c); c.Rules.MaxDays = 700 },
			func(c *Club) Date { return middle(c, 2027) }, BecauseRequired, "",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := stand(date(tt.setUp), tt.opened)
			tt.club(c)
			b := PlanClub(c, date(tt.today)).Boxes[0]
			want := tt.want(c)
			if b.Due != want || b.Reason != tt.reason || b.Moved != tt.moved || b.Overdue != (want < date(tt.today)) {
				t.Errorf("due %s for %q, moved %q, overdue %v; want %s for %q, moved %q", b.Due, b.Reason, b.Moved, b.Overdue, want, tt.reason, tt.moved)
			}
		})
	}
}

// TestOddsAreTheReasonWhereTheWaitEndsOnTheSameDay: of two reasons for one day
// the one that says more about the box.
func TestOddsAreTheReasonWhereTheWaitEndsOnTheSameDay(t *testing.T) {
	today := date("2027-06-10")
	c := stand(date("2026-01-01"), []Opening{opened("2027-06-01", Firm)})
	b := PlanClub(c, today).Boxes[0]
	if b.Reason != BecauseOdds {
		t.Fatalf("due for %q", b.Reason)
	}
	for _, less := range []int{0, 1} {
		c.Rules.MaxDays = int(b.OddsDay-b.Since) - less
		want := []Reason{BecauseOdds, BecauseLongest}[less]
		if got := PlanClub(c, today).Boxes[0]; got.Reason != want {
			t.Errorf("the wait ends %d days before: due for %q, want %q", less, got.Reason, want)
		}
	}
}

// TestOddsDay checks against every single day that the odds day is the first on
// which opening the box would be at least as likely hard as the limit says.
func TestOddsDay(t *testing.T) {
	found := 0
	for seed := range uint64(300) {
		r := newDice(seed)
		today := testToday + Date(r.IntN(365))
		c := r.club(r.between(1, 4), today)
		c.Rules.OddsLimit = 0.02 + 0.48*r.Float64()
		s := NewSeason(c.Apiaries[0].Place(), &c.Rules)
		rates := ReplayApiary(c, 5, today)
		for i, b := range PlanClub(c, today).Boxes {
			want := Date(0)
			rate := rates[i]
			for d := b.Since; d <= today+HorizonDays; d++ {
				odds := rate.Odds(s, d, Hard)
				if d < rate.Since { // by the records alone, which nothing had put in doubt
					odds = Odds(rate.maybe.left[0]-s.SealingDays(d, rate.Since), rate.Mean, rate.VarianceOn(d), Hard)
				}
				if odds >= c.Rules.OddsLimit {
					want = d
					break
				}
			}
			if b.OddsDay != want && !near(rates[i].Odds(s, min(b.OddsDay, want), Hard), c.Rules.OddsLimit) {
				t.Errorf("seed %d: box %d reaches odds of %.12f on %q, want %q %.12f", seed, b.BoxID, c.Rules.OddsLimit, b.OddsDay, want, rates[i].Odds(s, b.OddsDay, Hard))
			}
			if want != 0 {
				found++
			}
		}
	}
	if found < 200 {
		t.Errorf("only %d boxes reached the limit", found)
	}
}

func near(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 }
