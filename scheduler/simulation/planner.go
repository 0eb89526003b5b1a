package simulation

import (
	"slices"

	"pryday/scheduler"
)

// keeping is one apiary kept by the planner: the records that it reads and the
// truth that it does not see.
type keeping struct {
	*site
	policy  *Policy
	planner *scheduler.Planner
	club    scheduler.Club
	seals   []seal
	nextID  int64
	tally   tally
}

// plan keeps one apiary by the planner. It plans anew after each visit; until
// then nothing becomes known that could change the date, since a confirmed
// visit is held.
func (s *site) plan(policy *Policy, planner *scheduler.Planner) tally {
	return newKeeping(s, policy, planner).run()
}

func newKeeping(s *site, policy *Policy, planner *scheduler.Planner) *keeping {
	return &keeping{
		site: s, policy: policy, planner: planner, seals: slices.Clone(s.seals),
		club: scheduler.Club{Rules: policy.Rules, Apiaries: []scheduler.Apiary{cloneApiary(&s.apiary)}},
	}
}

// run lets the years under the policy pass.
func (k *keeping) run() tally {
	all := k.club.Apiaries[0].Hives
	for today := k.pop.from; today < k.pop.until; {
		k.requeen(all, today)
		visit := k.next(today)
		if visit == nil {
			today += 28
			continue
		}
		on := k.climate.dryDay(visit.On, k.apiary.Weekdays)
		if on >= k.pop.until {
			break
		}
		k.requeen(all, on)
		k.make(visit, on)
		today = on + 1
	}
	return k.tally
}

// next plans and returns the visit that comes first, which stands in the
// records from then on.
func (k *keeping) next(today scheduler.Date) *scheduler.Visit {
	var plan *scheduler.Plan
	if k.policy.TrueRates {
		plan = k.planner.PlanApiaryAtRates(&k.club, k.apiary.ID, today, k.trueRates(today))
	} else {
		plan = k.planner.PlanApiary(&k.club, k.apiary.ID, today)
	}
	past := slices.DeleteFunc(k.club.Visits, func(v scheduler.Visit) bool {
		return v.Status.Open() || v.On < today-400
	})
	k.club.Visits = append(past, plan.Visits...)
	open := k.club.Visits[len(past):]
	for i := range open {
		if open[i].ID == 0 {
			k.nextID++
			open[i].ID = k.nextID
		}
	}
	if len(open) == 0 {
		return nil
	}
	return &open[0]
}

// make makes a visit on a day, or lets it be missed.
func (k *keeping) make(v *scheduler.Visit, on scheduler.Date) {
	if !k.made(v.On) {
		v.Status = scheduler.Missed
		return
	}
	v.On, v.Status = on, scheduler.Done
	one := tally{visits: 1}
	for i := len(k.boxes) - 1; i >= 0; i-- {
		box := k.box(&k.club.Apiaries[0], i)
		listed := slices.ContainsFunc(v.Boxes, func(b scheduler.VisitBox) bool { return b.BoxID == box.ID })
		if listed {
			one.count(k.open(k.seals, i, on, &box.Openings))
		}
	}
	if on >= k.pop.scored {
		k.tally.add(one)
	}
}

// requeen writes down the colonies that were replaced up to a day.
func (k *keeping) requeen(all []scheduler.Hive, until scheduler.Date) {
	for h := range all {
		n := 0
		for n < len(k.apiary.Hives[h].Requeened) && k.apiary.Hives[h].Requeened[n] <= until {
			n++
		}
		all[h].Requeened = k.apiary.Hives[h].Requeened[:n]
	}
}

// trueRates returns what the records say about the seals, with the true rates.
func (k *keeping) trueRates(today scheduler.Date) scheduler.Rates {
	rates := scheduler.ReplayApiary(&k.club, k.apiary.ID, today)
	year, _ := beeYear(today)
	for i := range rates {
		rates[i].Mean = k.boxes[i].lnRate[year]
		rates[i].Variance, rates[i].RatedOn = 0, today
	}
	return rates
}

func cloneApiary(a *scheduler.Apiary) scheduler.Apiary {
	out := *a
	out.Hives = slices.Clone(a.Hives)
	for h := range out.Hives {
		out.Hives[h].Boxes = slices.Clone(a.Hives[h].Boxes)
		for b := range out.Hives[h].Boxes {
			box := &out.Hives[h].Boxes[b]
			box.Openings = slices.Clone(box.Openings)
		}
	}
	return out
}
