package scheduler

import (
	"math"
	"testing"
)

// twoApiaries is a random club of two apiaries.
func twoApiaries(seed uint64) *Club {
	c := newDice(seed).club(10, testToday)
	other := newDice(seed+1000).club(6, testToday).Apiaries[0]
	other.ID, other.Name = 6, "Meadow"
	for h := range other.Hives {
		other.Hives[h].ID += 100
		for b := range other.Hives[h].Boxes {
			other.Hives[h].Boxes[b].ID += 100
		}
	}
	c.Apiaries = append(c.Apiaries, other)
	return c
}

func TestPreviewOfTheSameRulesChangesNothing(t *testing.T) {
	for seed := range uint64(40) {
		c := twoApiaries(seed)
		if seed%2 == 0 {
			remember(c, PlanClub(c, testToday))
		}
		stood := len(c.Visits)
		p := Preview(c, c.Rules, testToday)
		if p.Before != p.After || len(p.Changes) > 0 {
			t.Fatalf("seed %d: %+v became %+v, with %d changes", seed, p.Before, p.After, len(p.Changes))
		}
		if len(c.Visits) != stood {
			t.Fatalf("seed %d: the preview wrote into the club", seed)
		}
	}
}

func TestPreviewOfOtherRules(t *testing.T) {
	for _, tc := range []struct {
		name   string
		change func(*Rules)
		want   func(p *PreviewReport) bool
	}{
		{
			"a lower limit opens more and finds less stuck", func(r *Rules) { r.OddsLimit = 0.05 },
			func(p *PreviewReport) bool {
				return p.After.Openings > p.Before.Openings && p.After.Stuck < p.Before.Stuck && p.After.Hours > p.Before.Hours
			},
		},
		{
			"a higher limit opens less and finds more stuck", func(r *Rules) { r.OddsLimit = 0.5 },
			func(p *PreviewReport) bool {
				return p.After.Openings < p.Before.Openings && p.After.Stuck > p.Before.Stuck
			},
		},
		{
			"a spring that asks for nothing saves openings", func(r *Rules) { r.Stages[BuildUp].Required = NothingRequired },
			func(p *PreviewReport) bool { return p.After.Openings < p.Before.Openings },
		},
		{
			"dearer hours with the same dates", func(r *Rules) { r.Hours.Stuck, r.Hours.Hard = 2*r.Hours.Stuck, 2*r.Hours.Hard },
			func(p *PreviewReport) bool { return p.After.Hours > p.Before.Hours },
		},
	} {
		t.Run(tc.name, func(t *testing.T) {
			var sum PreviewReport
			for seed := range uint64(20) {
				c := twoApiaries(seed)
				rules := c.Rules
				tc.change(&rules)
				p := Preview(c, rules, testToday)
				sum.Before.add(p.Before)
				sum.After.add(p.After)
				checkChanges(t, c, rules, &p)
			}
			if !tc.want(&sum) {
				t.Errorf("before %+v, after %+v", sum.Before, sum.After)
			}
		})
	}
}

func (s *PreviewSide) add(o PreviewSide) {
	s.Visits += o.Visits
	s.Openings += o.Openings
	s.Hours += o.Hours
	s.Hard += o.Hard
	s.Stuck += o.Stuck
}

// checkChanges plays the changes onto the visits that stood and compares them
// with what applying the rules would bring.
func checkChanges(t *testing.T, c *Club, rules Rules, p *PreviewReport) {
	t.Helper()
	type place struct {
		apiary int64
		on     Date
	}
	days := map[place]int{}
	before := PlanClub(c, testToday)
	for _, v := range before.Visits {
		days[place{v.ApiaryID, v.On}]++
	}
	last := Date(0)
	for i := range p.Changes {
		ch := &p.Changes[i]
		if ch.Was == ch.Now || ch.Boxes < 0 || ch.On() < last {
			t.Errorf("odd change %+v", *ch)
		}
		last = ch.On()
		if ch.Was != 0 {
			days[place{ch.ApiaryID, ch.Was}]--
		}
		if ch.Now != 0 {
			days[place{ch.ApiaryID, ch.Now}]++
		}
	}
	then := *c
	then.Rules = rules
	remember(&then, before)
	after := PlanClub(&then, testToday)
	for _, v := range after.Visits {
		days[place{v.ApiaryID, v.On}]--
	}
	for at, n := range days {
		if n != 0 {
			t.Errorf("apiary %d on %s: the changes are off by %d visits", at.apiary, at.on, n)
		}
	}
	if p.After.Visits != len(after.Visits) {
		t.Errorf("%d visits after, want %d", p.After.Visits, len(after.Visits))
	}
}

// TestPreviewSumsByHand adds up a year of one box with the formulas alone.
func TestPreviewSumsByHand(t *testing.T) {
	c := &Club{Rules: DefaultRules(), Apiaries: []Apiary{{
		ID: 1, Latitude: 45.5, Hives: []Hive{{ID: 1, Boxes: []Box{{ID: 1, SetUpOn: testToday - 100}}}},
	}}}
	plan := PlanClub(c, testToday)
	want := PreviewSide{Visits: len(plan.Visits)}
	season := NewSeason(c.Apiaries[0].Place(), &c.Rules)
	from := testToday - 100
	for _, v := range plan.Visits {
		want.Hours += 2.25
		for _, b := range v.Boxes {
			years := float64(v.On-(testToday-100)) / 365.25
			sd := math.Sqrt(0.45 + 0.05*years + 0.45*0.45)
			age := math.Log(season.SealingDays(from, v.On))
			worse := 0.5 * math.Erfc((math.Log(220)-age)/sd/math.Sqrt2)
			stuck := 0.5 * math.Erfc((math.Log(400)-age)/sd/math.Sqrt2)
			if math.Abs(worse-b.Odds) > 1e-9 {
				t.Errorf("%s: odds %g, by hand %g", v.On, b.Odds, worse)
			}
			want.Openings++
			want.Hard += worse - stuck
			want.Stuck += stuck
			want.Hours += 0.2 + 0.3*(worse-stuck) + 2*stuck
			from = v.On
		}
	}
	got := Preview(c, c.Rules, testToday).Before
	if got.Visits != want.Visits || got.Openings != want.Openings || math.Abs(got.Hours-want.Hours) > 1e-9 ||
		math.Abs(got.Hard-want.Hard) > 1e-9 || math.Abs(got.Stuck-want.Stuck) > 1e-9 {
		t.Errorf("got %+v, by hand %+v", got, want)
	}
}

// TestPreviewAddsUpTheVisits: what is to be expected is the sum of what the visits say of
// their boxes, also of those that may have been opened without a record.
func TestPreviewAddsUpTheVisits(t *testing.T) {
	doubted := 0
	for seed := range uint64(20) {
		c := newDice(seed).club(6, testToday)
		a := &c.Apiaries[0]
		v := Visit{ID: 900, ApiaryID: a.ID, On: testToday - 60, Status: Done}
		for h := range a.Hives {
			for b := range a.Hives[h].Boxes {
				v.Boxes = append(v.Boxes, VisitBox{BoxID: a.Hives[h].Boxes[b].ID})
			}
		}
		c.Visits = append(c.Visits, v)
		for _, r := range Replay(c, testToday) {
			if r.maybe.n > 0 {
				doubted++
			}
		}
		plan := PlanClub(c, testToday)
		hard, stuck := 0.0, 0.0
		for _, v := range plan.Visits {
			for _, b := range v.Boxes {
				hard, stuck = hard+b.Odds-b.Stuck, stuck+b.Stuck
			}
		}
		if got := previewSide(c, plan); math.Abs(got.Hard-hard) > 1e-9 || math.Abs(got.Stuck-stuck) > 1e-9 {
			t.Fatalf("seed %d: %g hard and %g stuck, the visits say %g and %g", seed, got.Hard, got.Stuck, hard, stuck)
		}
	}
	if doubted < 40 {
		t.Errorf("only %d boxes are in doubt", doubted)
	}
}
