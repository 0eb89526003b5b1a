package scheduler

// PlanApiaryTold does what PlanApiary does with rates that it is told instead
// of those that the records say: one for each box of the apiary, in the order
// of ReplayApiary. It answers what better knowledge of the boxes would be
// worth. The plan is empty when c has no apiary with that id.
func (p *Planner) PlanApiaryTold(c *Club, apiaryID int64, today Date, rates Rates) *Plan {
	plan := &Plan{Today: today}
	if a := findApiary(c, apiaryID); a != nil {
		p.apiary(plan, c, a, c.Visits, newDueRules(&c.Rules), rates)
		plan.sort()
	}
	return plan
}
