package scheduler

import (
	"cmp"
	"slices"
)

// PreviewReport says what a change of rules would do to the next year: the
// same planner run under two sets of rules on the same records.
type PreviewReport struct {
	Today         Date
	Before, After PreviewSide
	Changes       []VisitChange // by day, in record order of apiaries within a day
}

// PreviewSide is what a year under one set of rules comes to. Hours and odds
// are those of that set, so that a rule about paces or hours changes what is
// expected and not only what is done.
type PreviewSide struct {
	Visits   int
	Openings int
	Hours    float64 // travel, opening and the prying to be expected
	Hard     float64 // openings expected to be hard, and not stuck
	Stuck    float64 // openings expected to be stuck
}

// VisitChange is a visit that a change of rules would move, add or call off.
type VisitChange struct {
	ApiaryID int64
	Was      Date // zero for a visit that appears
	Now      Date // zero for one that vanishes
	Boxes    int  // that it opens: now, or for one that vanishes until now
	UID      string
}

// On returns the day by which changes are listed.
func (c *VisitChange) On() Date {
	if c.Was != 0 {
		return c.Was
	}
	return c.Now
}

// Preview plans c from today under its own rules and then, as applying them
// would, under others: confirmed visits are held where that is not dearer than
// the new rules allow, and moves of earlier changes go back (see PlanBack) where
// the others held before those. It changes nothing in c.
func Preview(c *Club, rules Rules, today Date, back ...VisitMove) PreviewReport {
	var p Planner
	before := p.PlanClub(c, today)
	changed := *c
	changed.Rules = rules
	changed.Visits = standingVisits(c.Visits, before)
	after, _ := PlanBack(&changed, back, today, func(c *Club) *Plan { return p.PlanClub(c, today) })
	return PreviewReport{
		Today: today, Before: previewSide(c, before), After: previewSide(&changed, after),
		Changes: visitChanges(c, changed.Visits, after),
	}
}

// standingVisits returns the visits that stand recorded once plan is saved.
// Those that are new get the next numbers, as a store would give them.
func standingVisits(recorded []Visit, plan *Plan) []Visit {
	var out []Visit
	last := int64(0)
	for _, v := range recorded {
		last = max(last, v.ID)
		if !v.Status.Open() && !slices.ContainsFunc(plan.Past, func(p Visit) bool { return p.ID == v.ID }) {
			out = append(out, v)
		}
	}
	out = append(out, plan.Past...)
	for _, v := range plan.Visits {
		if v.ID == 0 {
			last++
			v.ID = last
		}
		out = append(out, v)
	}
	return out
}

// previewSide adds up a plan of a club.
func previewSide(c *Club, plan *Plan) PreviewSide {
	seasons := make(map[int64]*Season, len(c.Apiaries))
	full := map[int64]bool{}
	travel := make(map[int64]float64, len(c.Apiaries))
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		seasons[a.ID] = NewSeason(a.Place(), &c.Rules)
		travel[a.ID] = a.travel(&c.Rules)
		for h := range a.Hives {
			a.Hives[h].addFull(full, plan.Today)
		}
	}
	rates := Replay(c, plan.Today)
	byBox := make(map[int64]*BoxRate, len(rates))
	for i := range rates {
		byBox[rates[i].BoxID] = &rates[i]
	}
	var out PreviewSide
	for _, v := range plan.Visits {
		out.Visits++
		out.Hours += travel[v.ApiaryID] + c.Rules.Hours.Setup
		for _, vb := range v.Boxes {
			rate := byBox[vb.BoxID]
			if rate == nil {
				continue
			}
			hard, stuck := c.Recalibration.Odds(rate.HardAndStuck(seasons[v.ApiaryID], v.On))
			out.Openings++
			out.Hard += hard - stuck
			out.Stuck += stuck
			out.Hours += c.Rules.Hours.Open + c.Rules.Hours.Hard*(hard-stuck) + c.Rules.Hours.Stuck*stuck
			if full[vb.BoxID] && seasons[v.ApiaryID].inFlow(v.On) {
				out.Hours += c.Rules.Hours.Lift
			}
			rate.Left, rate.Since, rate.maybe = 0, v.On, ages{} // scraped clean, as the planner expects
		}
	}
	return out
}

// visitChanges compares the visits that stood with those of a later plan.
func visitChanges(c *Club, stood []Visit, after *Plan) []VisitChange {
	was := make(map[int64]*Visit, len(stood))
	for i := range stood {
		if stood[i].Status.Open() {
			was[stood[i].ID] = &stood[i]
		}
	}
	var out []VisitChange
	for i := range after.Visits {
		v := &after.Visits[i]
		ch := VisitChange{ApiaryID: v.ApiaryID, Now: v.On, Boxes: len(v.Boxes), UID: v.UID}
		if old := was[v.ID]; old != nil {
			ch.Was = old.On
			delete(was, v.ID)
		}
		if ch.Was != ch.Now {
			out = append(out, ch)
		}
	}
	for i := range stood {
		if v := &stood[i]; was[v.ID] == v {
			out = append(out, VisitChange{ApiaryID: v.ApiaryID, Was: v.On, Boxes: len(v.Boxes), UID: v.UID})
		}
	}
	order := make(map[int64]int, len(c.Apiaries))
	for i := range c.Apiaries {
		order[c.Apiaries[i].ID] = i
	}
	slices.SortStableFunc(out, func(a, b VisitChange) int {
		return cmp.Or(cmp.Compare(a.On(), b.On()), cmp.Compare(order[a.ApiaryID], order[b.ApiaryID]))
	})
	return out
}
