package scheduler

import "slices"

// turn is one apiary of a club that is planned, with the rates of its boxes.
type turn struct {
	apiary int // its place in the club
	rates  Rates
	odds   float64 // of the box that is likeliest to be hard today
}

// turnsOf returns the apiaries in the order in which they are planned: where
// boxes would lock first, people's days are given out first.
func turnsOf(c *Club, rates Rates, today Date) []turn {
	out := make([]turn, len(c.Apiaries))
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		n := a.countBoxes()
		out[i] = turn{apiary: i, rates: rates[:n]}
		rates = rates[n:]
		if len(c.Apiaries) > 1 {
			out[i].odds = worstOdds(c, a, out[i].rates, today)
		}
	}
	slices.SortStableFunc(out, func(a, b turn) int {
		switch {
		case a.odds > b.odds:
			return -1
		case a.odds < b.odds:
			return 1
		}
		return 0
	})
	return out
}

// countBoxes counts those on the hives of a.
func (a *Apiary) countBoxes() (n int) {
	for h := range a.Hives {
		n += len(a.Hives[h].Boxes)
	}
	return n
}

// urgency is how near the boxes of an apiary are to locking. Days are given out
// anew only to what is in another class of it: the odds of all grow from night to
// night, and visits would change places with each of them.
type urgency int

// urgencyOf returns the urgency of an apiary whose likeliest box has such odds of
// being hard.
func (r *Rules) urgencyOf(odds float64) urgency {
	switch {
	case odds >= r.OddsLimit:
		return 2
	case odds >= r.OddsLimit/2:
		return 1
	}
	return 0
}

// worstOdds returns the odds of the box that is likeliest to be hard today.
func worstOdds(c *Club, a *Apiary, rates Rates, today Date) float64 {
	season, worst, n := NewSeason(a.Place(), &c.Rules), 0.0, 0
	for h := range a.Hives {
		for b := range a.Hives[h].Boxes {
			r := &rates[n]
			n++
			if !over(a.Hives[h].RetiredOn, today) && !over(a.Hives[h].Boxes[b].RetiredOn, today) {
				worst = max(worst, r.Odds(season, today, Hard))
			}
		}
	}
	return worst
}

// addStanding enters what is counted before any apiary is planned: what was done
// this week, visits that only a person moves, and then, as far as there is room
// for them, those that people count on, and the tentative ones.
func (l *Load) addStanding(c *Club, turns []turn, visits map[int64][]Visit, today Date) {
	for _, t := range turns {
		l.Drop(c.Apiaries[t.apiary].ID)
	}
	var firm, tentative []Promise
	var odds []float64 // of the tentative ones
	for _, t := range turns {
		a := &c.Apiaries[t.apiary]
		for i := range visits[a.ID] {
			v := &visits[a.ID][i]
			switch pr := PromiseOf(a, v, today); {
			case !v.takesTime():
			case pr.Over || v.staysPut():
				l.Add(&pr)
			case v.Status == Confirmed:
				firm = append(firm, pr)
			default:
				tentative, odds = append(tentative, pr), append(odds, t.odds)
			}
		}
	}
	for i := range firm {
		l.AddFirm(&firm[i])
	}
	for i := range tentative {
		l.AddTentative(&tentative[i], odds[i])
	}
}

// takesTime reports whether v takes, or has taken, somebody's day.
func (v *Visit) takesTime() bool {
	return v.Status.Open() || v.Status == Done || v.Status == Unanswered
}

// loadBeside returns the load of all visits of c but those to come at one
// apiary.
func loadBeside(c *Club, apiary int64, today Date) *Load {
	l := newLoad(c, today)
	for i := range c.Elsewhere {
		l.Add(&c.Elsewhere[i])
	}
	apiaries := make(map[int64]*Apiary, len(c.Apiaries))
	for i := range c.Apiaries {
		apiaries[c.Apiaries[i].ID] = &c.Apiaries[i]
	}
	for i := range c.Visits {
		v := &c.Visits[i]
		planned := v.ApiaryID == apiary && v.Status.Open() && v.On >= today
		if a := apiaries[v.ApiaryID]; a != nil && !planned && v.takesTime() && v.On >= l.from {
			pr := PromiseOf(a, v, today)
			l.Add(&pr)
		}
	}
	return l
}
