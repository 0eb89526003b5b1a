package simulation

import (
	"slices"

	"pryday/scheduler"
)

// desk is where the planner works for one apiary. It is the only place that
// calls it: on the records of club, which is what is known on the day.
type desk struct {
	planner *scheduler.Planner
	club    scheduler.Club // with the one apiary
	nextID  int64
}

func newDesk(policy *Policy, planner *scheduler.Planner, records scheduler.Apiary) desk {
	return desk{planner: planner, club: scheduler.Club{Rules: policy.Rules, Apiaries: []scheduler.Apiary{records}}}
}

// apiary returns the records that the planner reads.
func (d *desk) apiary() *scheduler.Apiary { return &d.club.Apiaries[0] }

// rates returns what the records say about the seals of the boxes.
func (d *desk) rates(today scheduler.Date) scheduler.Rates {
	return scheduler.ReplayApiary(&d.club, d.apiary().ID, today)
}

// next plans, with rates if there are any instead of what the records say, and
// returns the visit that comes first, which stands in the records from then on.
// It is nil where none comes.
func (d *desk) next(today scheduler.Date, rates scheduler.Rates) *scheduler.Visit {
	var plan *scheduler.Plan
	if rates != nil {
		plan = d.planner.PlanApiaryAtRates(&d.club, d.apiary().ID, today, rates)
	} else {
		plan = d.planner.PlanApiary(&d.club, d.apiary().ID, today)
	}
	past := slices.DeleteFunc(d.club.Visits, func(v scheduler.Visit) bool {
		ended := slices.ContainsFunc(plan.Past, func(p scheduler.Visit) bool { return p.ID == v.ID })
		return v.Status.Open() || v.On < today-400 || ended
	})
	past = append(past, plan.Past...)
	d.club.Visits = append(past, plan.Visits...)
	open := d.club.Visits[len(past):]
	for i := range open {
		if open[i].ID == 0 {
			d.nextID++
			open[i].ID = d.nextID
		}
	}
	if len(open) == 0 {
		return nil
	}
	return &open[0]
}
