package scheduler

var ruleKeys = buildRuleKeys()

// buildRuleKeys is the one list of what a club can set: rules files, the
// records document and forms all read it.
func buildRuleKeys() []RuleKey {
	number := func(path, unit string, least, most float64, at func(*Rules) *float64) RuleKey {
		return RuleKey{
			Path: path, Unit: unit, Shape: NumberRule, Least: least, Most: most,
			get: func(r *Rules) any { return *at(r) },
			set: func(r *Rules, v any) { *at(r) = v.(float64) },
		}
	}
	whole := func(path string, least, most float64, at func(*Rules) *int) RuleKey {
		return RuleKey{
			Path: path, Unit: "days", Shape: WholeRule, Least: least, Most: most,
			get: func(r *Rules) any { return *at(r) },
			set: func(r *Rules, v any) { *at(r) = v.(int) },
		}
	}
	count := func(path string, least, most float64, at func(*Rules) *int) RuleKey {
		k := whole(path, least, most, at)
		k.Unit = ""
		return k
	}
	keys := []RuleKey{
		number("odds_limit", "", 0.01, 0.9, func(r *Rules) *float64 { return &r.OddsLimit }),
		whole("min_days", 0, 200, func(r *Rules) *int { return &r.MinDays }),
		whole("max_days", 30, 1500, func(r *Rules) *int { return &r.MaxDays }),
		whole("reseal_days", 0, 90, func(r *Rules) *int { return &r.ResealDays }),
		whole("spring_days", 0, 60, func(r *Rules) *int { return &r.SpringDays }),
		whole("notice_days", 0, 90, func(r *Rules) *int { return &r.NoticeDays }),
		whole("lead_days", 0, 30, func(r *Rules) *int { return &r.LeadDays }),
		whole("move_notice_days", 0, 30, func(r *Rules) *int { return &r.MoveNotice }),
		whole("answer_days", 1, 30, func(r *Rules) *int { return &r.AnswerDays }),
		number("hold_hours", "h", 0, 24, func(r *Rules) *float64 { return &r.HoldHours }),
		number("hours.travel", "h", 0, 24, func(r *Rules) *float64 { return &r.Hours.Travel }),
		number("hours.setup", "h", 0, 8, func(r *Rules) *float64 { return &r.Hours.Setup }),
		number("hours.open", "h", 0, 8, func(r *Rules) *float64 { return &r.Hours.Open }),
		number("hours.lift", "h", 0, 8, func(r *Rules) *float64 { return &r.Hours.Lift }),
		number("hours.hard", "h", 0, 24, func(r *Rules) *float64 { return &r.Hours.Hard }),
		number("hours.stuck", "h", 0, 100, func(r *Rules) *float64 { return &r.Hours.Stuck }),
		number("capacity.hours_a_day", "h", 0.5, 24, func(r *Rules) *float64 { return &r.Capacity.HoursADay }),
		count("capacity.visits_a_week", 1, 50, func(r *Rules) *int { return &r.Capacity.VisitsAWeek }),
		{
			Path: "capacity.weekdays", Shape: WeekdaysRule,
			get: func(r *Rules) any { return r.Capacity.Weekdays },
			set: func(r *Rules, v any) { r.Capacity.Weekdays = v.(WeekdaySet) },
		},
		number("capacity.same_trip_km", "km", 0, 200, func(r *Rules) *float64 { return &r.Capacity.SameTripKM }),
		number("gap_mm.least", "mm", 1, 30, func(r *Rules) *float64 { return &r.GapMM.Least }),
		number("gap_mm.most", "mm", 1, 30, func(r *Rules) *float64 { return &r.GapMM.Most }),
	}
	for s := range Stage(NumStages) {
		keys = append(keys, stageKeys(s, number)...)
	}
	return append(append(keys, homeKeys()...), reminderKeys(whole, count)...)
}

func stageKeys(s Stage, number func(string, string, float64, float64, func(*Rules) *float64) RuleKey) []RuleKey {
	table := "stage." + s.String() + "."
	return []RuleKey{
		number(table+"pace", "", 0, 5, func(r *Rules) *float64 { return &r.Stages[s].Pace }),
		{
			Path: table + "open", Shape: TruthRule,
			get: func(r *Rules) any { return r.Stages[s].Open },
			set: func(r *Rules, v any) { r.Stages[s].Open = v.(bool) },
		},
		{
			Path: table + "required", Shape: RequiredRule,
			get: func(r *Rules) any { return r.Stages[s].Required },
			set: func(r *Rules, v any) { r.Stages[s].Required = v.(Required) },
		},
		{
			Path: table + "starts", Shape: DayOfYearRule, Optional: true,
			get: func(r *Rules) any {
				if r.Stages[s].Starts.IsZero() {
					return nil
				}
				return r.Stages[s].Starts
			},
			set: func(r *Rules, v any) { r.Stages[s].Starts, _ = v.(MonthDay) },
		},
	}
}

func homeKeys() []RuleKey {
	at := func(path, unit string, least, most float64, field func(*Home) *float64) RuleKey {
		return RuleKey{
			Path: path, Unit: unit, Shape: NumberRule, Least: least, Most: most, Optional: true,
			get: func(r *Rules) any {
				if r.Home == nil {
					return nil
				}
				return *field(r.Home)
			},
			set: func(r *Rules, v any) {
				if v == nil {
					r.Home = nil
					return
				}
				h := Home{}
				if r.Home != nil {
					h = *r.Home
				}
				*field(&h) = v.(float64)
				r.Home = &h // a new one: copies of these rules may share the old
			},
		}
	}
	return []RuleKey{
		at("home.latitude", "degrees", -90, 90, func(h *Home) *float64 { return &h.Latitude }),
		at("home.elevation_m", "m", -430, 6000, func(h *Home) *float64 { return &h.ElevationM }),
	}
}

func reminderKeys(whole, count func(string, float64, float64, func(*Rules) *int) RuleKey) []RuleKey {
	return []RuleKey{
		{
			Path: "reminders.days_before", Unit: "days", Shape: WholesRule, Least: 0, Most: 60,
			get: func(r *Rules) any { return r.Reminders.DaysBefore },
			set: func(r *Rules, v any) {
				r.Reminders.DaysBefore = append([]int(nil), v.([]int)...)
			},
		},
		{
			Path: "reminders.send_at", Shape: ClockRule,
			get: func(r *Rules) any { return r.Reminders.SendAt },
			set: func(r *Rules, v any) { r.Reminders.SendAt = v.(ClockTime) },
		},
		whole("reminders.overdue_every_days", 0, 90, func(r *Rules) *int { return &r.Reminders.OverdueEveryDays }),
		whole("reminders.escalate_after_days", 0, 365, func(r *Rules) *int { return &r.Reminders.EscalateAfterDays }),
		count("reminders.most_a_week", 1, 7, func(r *Rules) *int { return &r.Reminders.MostAWeek }),
		count("reminders.quiet_after", 1, 10, func(r *Rules) *int { return &r.Reminders.QuietAfter }),
	}
}
