package scheduler

// PlanClub plans every apiary of c from its records alone. Visits that stand
// in c.Visits keep their identity; today is the club's civil day.
func PlanClub(c *Club, today Date) *Plan { panic("not written yet") }
