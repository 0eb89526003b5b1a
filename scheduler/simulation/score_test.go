package simulation

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"pryday/scheduler"
	_ "pryday/testdata/testrun" // the same zones and lots in every run
)

// small is a club that is quick to simulate.
var small = Size{Apiaries: 3, Hives: 5, Boxes: 3, Years: 5, History: 3, Change: 1}

// TestThePlannerBeatsTheCalendars is the direction of the whole product on a
// few small clubs. The command measures how far.
func TestThePlannerBeatsTheCalendars(t *testing.T) {
	policies := []Policy{Calendar(2), Calendar(3), Calendar(4), Calendar(5), Planner(0.12), Planner(0.2), Planner(0.2).WithoutAutumn()}
	seeds := []int{501, 502, 503, 504, 505, 506, 507, 508, 509, 510}
	for _, c := range Run(policies, seeds, small, DefaultAssumptions()).Compare() {
		if !(c.EqualHours.Value < 0.75) || !(c.EqualOpenings.Value < 0.7) {
			t.Errorf("%s: stuck openings against the calendars %v at equal hours, %v at equal openings",
				c.Policy, c.EqualHours, c.EqualOpenings)
		}
	}
}

// TestRecordsAreWorthSomething runs the planner on clubs whose keepers write
// down any grade whatever they meet. With the same limit it must cost more or
// find more stuck than with good records, weighed as the frontier of the
// calendars weighs them (some 6 hours a stuck box); and a planner that is told
// the true rates must do no worse than one that reads records, give or take that
// at one limit whoever doubts opens a little sooner. This fails when
// records or true rates are not read.
func TestRecordsAreWorthSomething(t *testing.T) {
	blind := DefaultAssumptions()
	blind.JudgingSD = 3
	seeds := []int{511, 512, 513, 514, 515, 516, 517, 518, 519, 520, 521, 522}
	cost := func(policy Policy, a Assumptions) float64 {
		s := Run([]Policy{policy}, seeds, small, a).Rows()[0]
		return s.Hours + 6*float64(small.Hives*small.Boxes)*s.Stuck
	}
	told := cost(Planner(0.12).Told(), DefaultAssumptions())
	reading := cost(Planner(0.12), DefaultAssumptions())
	guessing := cost(Planner(0.12), blind)
	if !(told < 1.02*reading && reading < 0.9*guessing) {
		t.Errorf("%.1f hours told the true rates, %.1f with good records, %.1f with bad ones", told, reading, guessing)
	}
}

func TestEveryPolicyMeetsTheSameTruth(t *testing.T) {
	size := Size{Apiaries: 2, Hives: 3, Boxes: 2, Years: 2, History: 2}
	a := DefaultAssumptions()
	alone := Run([]Policy{Planner(0.2)}, []int{7}, size, a)
	among := Run([]Policy{Calendar(5), Planner(0.1).Told(), Planner(0.2), Planner(0.2)}, []int{5, 6, 7}, size, a)
	for _, i := range []int{2, 3} {
		if got, want := among.Scores[i][2], alone.Scores[0][0]; !reflect.DeepEqual(got, want) {
			t.Errorf("among others %+v, alone %+v", got, want)
		}
	}
	if reflect.DeepEqual(among.Scores[2][0], among.Scores[2][1]) {
		t.Error("two populations are the same")
	}
}

// TestHoursOfPolicies adds up what is done in stacks too low for a full super.
func TestHoursOfPolicies(t *testing.T) {
	size := Size{Apiaries: 2, Hives: 3, Boxes: 1, Years: 3, History: 2}
	for _, policy := range []Policy{Calendar(3), Planner(0.2)} {
		p := NewPopulation(9, size, DefaultAssumptions())
		boxes := 0
		for _, s := range p.sites {
			boxes += len(s.boxes)
		}
		s := p.Run(policy, new(scheduler.Planner))
		perApiary := float64(boxes) / float64(size.Apiaries)
		want := 2.25*s.Visits + perApiary*(0.2*s.Openings+0.3*s.Hard+2*s.Stuck)
		if math.Abs(s.Hours-want) > 1e-9 || s.Openings == 0 {
			t.Errorf("%s: %g hours, by hand %g", policy.Name, s.Hours, want)
		}
	}
}

// TestKeepingFollowsThePlan checks what the planner's club did: stacks opened
// from the top, none in deep winter, and every opening written down.
func TestKeepingFollowsThePlan(t *testing.T) {
	size := Size{Apiaries: 3, Hives: 4, Boxes: 3, Years: 4, History: 2}
	for _, s := range NewPopulation(21, size, DefaultAssumptions()).sites {
		policy := Planner(0.15)
		k := newKeeping(s, &policy, new(scheduler.Planner))
		written := k.written()
		got := k.run()
		if n := k.written() - written; n != got.openings {
			t.Errorf("%d openings made, %d written down", got.openings, n)
		}
		rules := scheduler.DefaultRules()
		season := scheduler.NewSeason(s.apiary.Place(), &rules)
		for _, h := range k.club.Apiaries[0].Hives {
			for b := range h.Boxes {
				for _, o := range h.Boxes[b].Openings {
					if o.On < s.pop.from {
						continue
					}
					if !season.MayOpen(o.On) && !season.MayOpen(o.On-14) { // rain may delay it a little
						t.Errorf("box %d opened on %s", h.Boxes[b].ID, o.On)
					}
					if b+1 < len(h.Boxes) && !slices.ContainsFunc(h.Boxes[b+1].Openings, func(above scheduler.Opening) bool { return above.On == o.On }) {
						t.Errorf("box %d opened on %s without the one above it", h.Boxes[b].ID, o.On)
					}
				}
			}
		}
	}
}

// written returns how many openings the club has written down.
func (k *keeping) written() int {
	n := 0
	for _, h := range k.club.Apiaries[0].Hives {
		for b := range h.Boxes {
			n += len(h.Boxes[b].Openings)
		}
	}
	return n
}
