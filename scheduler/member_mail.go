package scheduler

// SendAtOf returns the local time of day at which a member's daily mail goes
// out: the member's wish, else the club's rule.
func (c *Club) SendAtOf(m *Member) ClockTime {
	if m.Prefs.SendAt != nil {
		return *m.Prefs.SendAt
	}
	return c.Rules.Reminders.SendAt
}

// DaysBeforeOf returns how many days before a visit a member is reminded of
// it: the member's wish, else the club's rule. A member may wish for none.
func (c *Club) DaysBeforeOf(m *Member) []int {
	if m.Prefs.DaysBefore != nil {
		return m.Prefs.DaysBefore
	}
	return c.Rules.Reminders.DaysBefore
}
