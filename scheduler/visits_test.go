package scheduler

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// opensOn reports from the records alone whether a hive may be opened on d.
func opensOn(c *Club, hive int, d Date) bool {
	a := &c.Apiaries[0]
	if !NewSeason(a.Place(), &c.Rules).MayOpen(d) {
		return false
	}
	for _, list := range [][]Period{a.NoGo, a.Standstill, a.Hives[hive].LeaveAlone} {
		for _, p := range list {
			if p.Contains(d) {
				return false
			}
		}
	}
	away := 0
	for _, id := range a.Keepers {
		if slices.ContainsFunc(c.Members[id-1].NoGo, func(p Period) bool { return p.Contains(d) }) {
			away++
		}
	}
	return len(a.Keepers) == 0 || away < len(a.Keepers)
}

// hardLimit returns the last day up to which a box last opened on from may
// wait whatever its odds are, and the first day of the stage that asks for it.
func hardLimit(c *Club, from, today Date) (limit, begins Date) {
	s := NewSeason(c.Apiaries[0].Place(), &c.Rules)
	limit = from + Date(c.Rules.MaxDays)
	for d := today; d < today+HorizonDays; {
		first, last := s.StageSpan(d)
		if c.Rules.Stages[s.Stage(d)].Required == OpeningRequired && first > from {
			if mid := first + (last-first)/2; mid < limit {
				return mid, first
			}
			break
		}
		d = last + 1
	}
	return limit, 0
}

// breaches returns what is wrong with a plan that has no fixed visits.
func breaches(c *Club, p *Plan) []string {
	var out []string
	bad := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	a := &c.Apiaries[0]
	for i, v := range p.Visits {
		if i > 0 && v.On <= p.Visits[i-1].On {
			bad("visit on %s does not come after the one before", v.On)
		}
		if v.On < p.Today || v.On > p.Today+HorizonDays {
			bad("visit on %s is outside the plan", v.On)
		}
		if len(v.Boxes) == 0 && v.For != VisitRequired {
			bad("visit on %s has no purpose", v.On)
		}
	}
	n := 0
	for h := range a.Hives {
		boxes := a.Hives[h].Boxes
		for b := range boxes {
			state := p.Boxes[n]
			n++
			from := state.Since
			check := func(on Date, why Reason) { // on is the next opening; 0 for none
				limit, begins := hardLimit(c, from, p.Today)
				if on == 0 && limit > p.Today+HorizonDays {
					return
				}
				for d := max(p.Today, from+Date(c.Rules.MinDays), begins); d <= min(limit, p.Today+HorizonDays); d++ {
					if opensOn(c, h, d) {
						if on == 0 || on > limit {
							bad("box %d opened %s waits until %q past %s although %s is allowed", state.BoxID, from, on, limit, d)
						}
						break
					}
				}
				if on != 0 && why != BecauseAbove && on < from+Date(c.Rules.MinDays) {
					bad("box %d opened %s is opened again on %s for %s", state.BoxID, from, on, why)
				}
			}
			for _, v := range p.Visits {
				at := slices.IndexFunc(v.Boxes, func(vb VisitBox) bool { return vb.BoxID == state.BoxID })
				if at < 0 {
					continue
				}
				if !opensOn(c, h, v.On) {
					bad("box %d is opened on %s, which is not allowed", state.BoxID, v.On)
				}
				check(v.On, v.Boxes[at].Reason)
				from = v.On
				if b+1 < len(boxes) && boxes[b+1].SetUpOn <= v.On &&
					(at == 0 || v.Boxes[at-1].BoxID != boxes[b+1].ID) {
					bad("box %d is opened on %s but not the one above it just before", state.BoxID, v.On)
				}
			}
			check(0, "")
		}
	}
	return out
}

func TestPlansKeepTheRules(t *testing.T) {
	var planner Planner
	visits, closed := 0, 0
	for seed := range uint64(1500) {
		r := newDice(seed)
		today := testToday + Date(r.IntN(365))
		c := r.club(r.between(0, 14), today)
		if r.chance(0.6) {
			r.trouble(c, today)
		}
		p := planner.PlanClub(c, today)
		if b := breaches(c, p); len(b) > 0 {
			t.Fatalf("seed %d, today %s:\n%s\n%s", seed, today, strings.Join(b, "\n"), show(c, p))
		}
		if fresh := PlanApiary(c, 5, today); show(c, fresh) != show(c, p) {
			t.Fatalf("seed %d: used and fresh planners differ:\n%s\n%s", seed, show(c, p), show(c, fresh))
		}
		visits += len(p.Visits)
		for i := range p.Boxes {
			if p.Boxes[i].Moved != "" {
				closed++
			}
		}
	}
	if visits < 3000 || closed < 300 {
		t.Errorf("%d visits and %d moved due days: the cases are too easy", visits, closed)
	}
}

func TestEveryBoxComesUpWithinAYear(t *testing.T) {
	for seed := range uint64(300) {
		r := newDice(seed)
		today := testToday + Date(r.IntN(365))
		c := r.club(r.between(1, 14), today)
		p := PlanClub(c, today)
		for _, b := range p.Boxes {
			if !slices.ContainsFunc(p.Visits, func(v Visit) bool {
				return slices.ContainsFunc(v.Boxes, func(vb VisitBox) bool { return vb.BoxID == b.BoxID })
			}) {
				t.Fatalf("seed %d: box %d is on no visit:\n%s", seed, b.BoxID, show(c, p))
			}
		}
	}
}
