package scheduler

import (
	"cmp"
	"slices"
)

// PlanClub plans every apiary of c from its records alone, those that would lock
// first before the others, so that they have the first choice of people's days.
// Visits that stand in c.Visits keep their identity; today is the club's civil
// day.
func PlanClub(c *Club, today Date) *Plan {
	var p Planner
	return p.PlanClub(c, today)
}

// PlanApiary plans one apiary of c in what the visits that stand at the others
// leave of people's days. Where nobody is short of time it comes out as it does
// in PlanClub. The plan is empty when c has no apiary with that id.
func PlanApiary(c *Club, apiaryID int64, today Date) *Plan {
	var p Planner
	return p.PlanApiary(c, apiaryID, today)
}

// Planner plans again and again with the same working memory. The zero Planner
// is ready; one must not be used by two goroutines at once.
type Planner struct {
	projection projection
	load       *Load
	standing   recorded
	cost       float64    // of the last plan, see projection.run
	days       [2][]int32 // scratch of the matching
	held       []int
	nearing    []int    // tentative visits that are held as confirmed ones
	asked      []boxDue // as people asked for them, before anything was held
}

// PlanClub does what the function PlanClub does.
func (p *Planner) PlanClub(c *Club, today Date) *Plan {
	load := NewLoad(c, today)
	for i := range c.Elsewhere {
		load.Add(&c.Elsewhere[i])
	}
	return p.PlanClubIn(c, today, load, nil)
}

// PlanClubIn is PlanClub in what is left of people's days by a load, which
// holds what they have promised at other apiaries than those of c. What is
// planned is entered in it. What is known need not be replayed; of its boxes c need
// not have older openings than OpeningsSince.
func (p *Planner) PlanClubIn(c *Club, today Date, load *Load, known KnownRates) *Plan {
	visits := map[int64][]Visit{}
	for i := range c.Visits {
		id := c.Visits[i].ApiaryID
		visits[id] = append(visits[id], c.Visits[i])
	}
	turns := turnsOf(c, known.replay(c, today), today)
	load.addStanding(c, turns, visits, today)
	rules := newDueRules(c)
	parts := make([]*Plan, len(c.Apiaries))
	for _, t := range turns {
		a := &c.Apiaries[t.apiary]
		load.reach(rules.urgencyOf(t.odds))
		parts[t.apiary] = p.turn(c, a, visits[a.ID], rules, t.rates, today, load)
		load.settle(parts[t.apiary].Visits, a, today)
	}
	plan := &Plan{Today: today}
	for i := range parts {
		plan.Visits = append(plan.Visits, parts[i].Visits...)
		plan.Boxes = append(plan.Boxes, parts[i].Boxes...)
		plan.Cancel = append(plan.Cancel, parts[i].Cancel...)
		plan.Past = append(plan.Past, parts[i].Past...)
		for id, u := range parts[i].Unwritten {
			if plan.Unwritten == nil {
				plan.Unwritten = map[int64]Unwritten{}
			}
			plan.Unwritten[id] = u
		}
	}
	plan.sort()
	return plan
}

// turn plans one apiary of c whose turn it is: as if what stands at later ones
// were not there, since the days are its own first, unless that takes their
// place; and then around all that stands, where that costs it next to nothing,
// or around what people count on.
func (p *Planner) turn(c *Club, a *Apiary, visits []Visit, rules dueRules, rates Rates, today Date, load *Load) *Plan {
	plan := func(in *Load) (*Plan, float64) {
		part := &Plan{Today: today}
		load.Drop(a.ID)
		p.load = in
		p.apiary(part, c, a, visits, rules, rates)
		return part, p.cost
	}
	first, cost := plan(load)
	if load.standing.fits(first.Visits, a, today, load) {
		return first
	}
	still, costs := plan(load.standing)
	if costs-cost <= c.Rules.stillHours() {
		return still
	}
	if load.firm.fits(first.Visits, a, today, load) {
		return first
	}
	around, _ := plan(load.firm)
	return around
}

// PlanApiary does what the function PlanApiary does.
func (p *Planner) PlanApiary(c *Club, apiaryID int64, today Date) *Plan {
	return p.PlanApiaryAtRates(c, apiaryID, today, ReplayApiary(c, apiaryID, today))
}

// PlanApiaryAtRates does what PlanApiary does with the rates that it is given
// instead of those that the records say: one for each box of the apiary, in the order
// of ReplayApiary. It answers what better knowledge of the boxes would be
// worth. The plan is empty when c has no apiary with that id.
func (p *Planner) PlanApiaryAtRates(c *Club, apiaryID int64, today Date, rates Rates) *Plan {
	plan := &Plan{Today: today}
	if a := c.Apiary(apiaryID); a != nil {
		p.load = loadBeside(c, apiaryID, today)
		p.apiary(plan, c, a, c.Visits, newDueRules(c), rates)
		plan.sort()
	}
	return plan
}

func (p *Plan) sort() {
	slices.SortStableFunc(p.Visits, func(a, b Visit) int { return cmp.Compare(a.On, b.On) })
}

// apiary adds the plan of one apiary to plan. The rates begin with those of its
// first box; among visits there may be those of other apiaries.
func (p *Planner) apiary(plan *Plan, c *Club, a *Apiary, visits []Visit, rules dueRules, rates Rates) {
	pr := &p.projection
	n := pr.begin(c, a, rules, rates, plan.Today)
	p.standing.sort(visits, a.ID, pr.start, plan.Today, rules.AnswerDays)
	plan.Past = append(plan.Past, p.standing.past...)
	plan.Boxes = pr.states(plan.Boxes, a, rates[:n])

	pr.refused, pr.days.refusedFor = p.standing.refused, rules.AnswerDays
	pr.room.fill(p.load, a, &pr.days, &p.standing)
	pr.days.room, pr.days.most, pr.days.fixed = pr.room.days, pr.room.most, p.standing.fixed
	pr.applyWaits(&p.standing)
	plan.askOf(a, p.standing.history, rules.Rules)
	pr.applyRequests(p.standing.open, p.standing.fixed)
	pr.addDuties(visits, p.standing.past)
	pr.stand(p.standing.open)
	p.project()
	p.enter(plan, a)
}

// begin readies the projection of an apiary, before anybody's wishes, and
// returns how many of the rates are its own.
func (p *projection) begin(c *Club, a *Apiary, rules dueRules, rates Rates, today Date) int {
	p.rules = rules
	p.hours = newVisitHours(a, rules.Rules)
	p.days.fill(a, c.Members, NewSeason(a.Place(), rules.Rules), today)
	return p.load(a, rates)
}

// load reads the boxes of an apiary with their rates and returns how many
// rates there were. Retired boxes and hives, and hives without bees, are left out of the
// projection.
func (p *projection) load(a *Apiary, rates Rates) int {
	p.start, p.ends = p.start[:0], p.ends[:0]
	y, n := &p.days, 0
	for h := range a.Hives {
		hive := &a.Hives[h]
		for i := range hive.Boxes {
			box, rate := &hive.Boxes[i], &rates[n]
			n++
			if over(hive.RetiredOn, y.today) || over(box.RetiredOn, y.today) || hive.bare(y.today) {
				continue
			}
			b := boxDue{rate: rate, box: box, hive: int32(h), from: rate.From, off: -noDay, kept: -noDay}
			b.full = hive.fullFrom(i, y.today)
			b.seal(y, rate.Since, rate.Left)
			b.guessed = box.GuessedOn != 0 && rate.Openings == 0 && rate.From == box.SetUpOn
			b.inDoubt, b.listedOn = rate.maybe.n > 0, rate.listedOn
			b.setDue(y, &p.rules)
			b.ruled = b.due
			p.start = append(p.start, b)
		}
		p.ends = append(p.ends, int32(len(p.start)))
	}
	return n
}

// over reports whether a thing retired on a day, if any, is so today.
func over(retired, today Date) bool { return retired != 0 && retired <= today }

// states adds what is worked out about every box of an apiary.
func (p *projection) states(out []BoxState, a *Apiary, rates Rates) []BoxState {
	y, n, next := &p.days, 0, 0
	out = slices.Grow(out, len(rates))
	for h := range a.Hives {
		hive := &a.Hives[h]
		for i := range hive.Boxes {
			box, rate := &hive.Boxes[i], &rates[n]
			n++
			s := BoxState{
				BoxID: box.ID, ApiaryID: a.ID, HiveID: hive.ID,
				Since: rate.From, LastOpened: rate.LastOpened, LastHard: rate.LastHard, LastTried: rate.LastTried, ShutOn: rate.ShutOn,
				ListedOn: rate.listedOn, Openings: rate.Openings, LeftAlone: y.leftAloneBecause(h, box), Outlook: rate.outlook(),
			}
			if next < len(p.start) && p.start[next].box == box {
				p.start[next].state(y, &p.rules, &s)
				next++
			}
			s.OnDay(y.season, p.rules.recalibration, y.today)
			out = append(out, s)
		}
	}
	return out
}

// state enters when a box is due, and how sure that is.
func (b *boxDue) state(y *days, r *dueRules, s *BoxState) {
	s.Due, s.Reason = y.today+Date(b.due), b.reason
	first, last := b.dueRange(y, r)
	s.DueFirst, s.DueLast = y.today+Date(first), y.today+Date(last)
	if b.oddsDay <= HorizonDays {
		s.OddsDay = y.today + Date(b.oddsDay)
	}
	if b.due != b.wanted {
		s.Moved = y.closedBecause(int(b.hive), y.today+Date(b.wanted))
	}
	if b.waits == ClosedHarvest || s.Moved == "" {
		s.Moved = b.waits
	}
}
