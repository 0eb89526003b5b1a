package scheduler

import "slices"

// Proposal is another day for a visit that only a person moves.
type Proposal struct {
	To    Date
	BoxID int64   // the box of the visit that is likeliest to be hard on its present day; 0 for none
	Odds  float64 // that it is hard by then, 0 to 1
}

// BetterDay returns the day on which planning would put a visit of c that a
// person pinned or took, and whether that is another one: at least the rules'
// move notice ahead, worth more than their hold_hours, and one on which those who
// go have time beside what they promised elsewhere (c.Elsewhere too). Planning
// itself leaves such a visit where it is.
func BetterDay(c *Club, v *Visit, today Date) (Proposal, bool) {
	if !v.Status.Open() || !v.staysPut() || v.On <= today {
		return Proposal{}, false
	}
	free := *c
	free.Visits, free.Apiaries = slices.Clone(c.Visits), slices.Clone(c.Apiaries)
	at := slices.IndexFunc(free.Visits, func(o Visit) bool { return o.ID == v.ID })
	if at < 0 {
		return Proposal{}, false
	}
	if a := free.Apiary(v.ApiaryID); a != nil && v.IsTaken() {
		a.Keepers = v.Taken // nobody else's days count
	}
	free.Visits[at].Pinned, free.Visits[at].Taken = false, nil
	free.Visits[at].Status = Confirmed
	plan := PlanApiary(&free, v.ApiaryID, today)
	now := slices.IndexFunc(plan.Visits, func(o Visit) bool { return o.ID == v.ID })
	if now < 0 || plan.Visits[now].NoTime || plan.Visits[now].On == v.On || plan.Visits[now].On < today+Date(c.Rules.MoveNotice) {
		return Proposal{}, false
	}
	p := Proposal{To: plan.Visits[now].On}
	for _, b := range v.Boxes {
		if b.Odds > p.Odds {
			p.BoxID, p.Odds = b.BoxID, b.Odds
		}
	}
	return p, true
}

// Apart is why two visits to one apiary stand closer together than min_days.
type Apart string

// The reasons, from the strongest to the weakest; each has a text of its key.
const (
	ApartPerson Apart = "apart.person" // a person put one of them on its day
	ApartClosed Apart = "apart.closed" // what the one opens may not be opened on the other's day
	ApartRested Apart = "apart.rested" // what the later one opens was opened too short a time before the earlier
	ApartHours  Apart = "apart.hours"  // together they would cost more hours of prying than the journey saves
)

// WhyApart returns why a visit of c follows another open one to its apiary
// within the rules' min_days, and that one; nil when none is so near before
// it. Planning merges what can be merged.
func WhyApart(c *Club, v *Visit, today Date) (*Visit, Apart) {
	var before *Visit
	for i := range c.Visits {
		o := &c.Visits[i]
		if o.ApiaryID == v.ApiaryID && o.ID != v.ID && o.Status.Open() && o.On <= v.On && v.On-o.On < Date(c.Rules.MinDays) &&
			(before == nil || o.On > before.On) {
			before = o
		}
	}
	a := c.Apiary(v.ApiaryID)
	if before == nil || a == nil || !v.Status.Open() {
		return nil, ""
	}
	if v.staysPut() || before.staysPut() {
		return before, ApartPerson
	}
	var y days
	y.fill(a, c.Members, NewSeason(a.Place(), &c.Rules), today)
	for _, h := range visitHives(a, v) {
		if !y.mayOpen(h, int32(before.On-today)) {
			return before, ApartClosed
		}
	}
	for _, b := range v.Boxes {
		if _, box := a.Box(b.BoxID); box != nil {
			if last, ok := box.LastOpening(before.On); ok && before.On-last.On < Date(c.Rules.MinDays) {
				return before, ApartRested
			}
		}
	}
	return before, ApartHours
}
