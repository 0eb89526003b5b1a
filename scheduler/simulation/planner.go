package simulation

import (
	"slices"

	"pryday/scheduler"
)

// keeping is one apiary of the tidy world kept by the planner: the records that
// it reads and the truth that it does not see.
type keeping struct {
	*site
	desk
	policy *Policy
	seals  []seal
	tally  tally
}

// plan keeps one apiary by the planner. It plans anew after each visit; until
// then nothing becomes known that could change the date, since a confirmed
// visit is held.
func (s *site) plan(policy *Policy, planner *scheduler.Planner) tally {
	return newKeeping(s, policy, planner).run()
}

func newKeeping(s *site, policy *Policy, planner *scheduler.Planner) *keeping {
	return &keeping{
		site: s, policy: policy, seals: slices.Clone(s.seals),
		desk: newDesk(policy, planner, cloneApiary(&s.apiary)),
	}
}

// run lets the years under the policy pass.
func (k *keeping) run() tally {
	all := k.desk.apiary().Hives
	for today := k.pop.from; today < k.pop.until; {
		k.requeen(all, today)
		var rates scheduler.Rates
		if k.policy.TrueRates {
			rates = k.trueRates(today)
		}
		visit := k.next(today, rates)
		if visit == nil {
			today += 28
			continue
		}
		on := k.climate.dryDay(visit.On, k.site.apiary.Weekdays)
		if on >= k.pop.until {
			break
		}
		k.requeen(all, on)
		k.make(visit, on)
		today = on + 1
	}
	return k.tally
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
		box := k.box(k.desk.apiary(), i)
		if v.Lists(box.ID) {
			one.count(k.open(k.seals, i, on, &box.Openings), k.full(i, on))
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
		for n < len(k.site.apiary.Hives[h].Requeened) && k.site.apiary.Hives[h].Requeened[n] <= until {
			n++
		}
		all[h].Requeened = k.site.apiary.Hives[h].Requeened[:n]
	}
}

// trueRates returns what the records say about the seals, with the true rates.
func (k *keeping) trueRates(today scheduler.Date) scheduler.Rates {
	rates := k.rates(today)
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
