package scheduler

var ruleKeys = buildRuleKeys()

// buildRuleKeys is the one list of what a club can set: rules files, the
// records document and forms all read it.
func buildRuleKeys() []RuleKey {
	number := func(path, unit string, least, most float64, at func(*Rules) *float64, words string) RuleKey {
		return RuleKey{
			Path: path, Words: words, Unit: unit, Shape: NumberRule, Least: least, Most: most,
			get: func(r *Rules) any { return *at(r) },
			set: func(r *Rules, v any) { *at(r) = v.(float64) },
		}
	}
	whole := func(path string, least, most float64, at func(*Rules) *int, words string) RuleKey {
		return RuleKey{
			Path: path, Words: words, Unit: "days", Shape: WholeRule, Least: least, Most: most,
			get: func(r *Rules) any { return *at(r) },
			set: func(r *Rules, v any) { *at(r) = v.(int) },
		}
	}
	keys := []RuleKey{
		number("odds_limit", "", 0.01, 0.9, func(r *Rules) *float64 { return &r.OddsLimit },
			"A box is due when the chance that it would be hard or stuck reaches this: 0.2 is 1 in 5."),
		whole("min_days", 0, 200, func(r *Rules) *int { return &r.MinDays },
			"A box is left alone for this long after it was opened."),
		whole("max_days", 30, 1500, func(r *Rules) *int { return &r.MaxDays },
			"No box waits longer than this, however easy it was."),
		whole("reseal_days", 0, 90, func(r *Rules) *int { return &r.ResealDays },
			"Nothing is opened this long before winter, so that the bees can seal the hive again."),
		whole("notice_days", 0, 90, func(r *Rules) *int { return &r.NoticeDays },
			"Visits this near are confirmed: people may count on the day."),
		whole("move_notice_days", 0, 30, func(r *Rules) *int { return &r.MoveNotice },
			"Planning moves no confirmed visit to sooner than this."),
		whole("answer_days", 1, 30, func(r *Rules) *int { return &r.AnswerDays },
			"So long after its day a visit waits for word of what became of it; then it counts as missed."),
		number("hold_hours", "h", 0, 24, func(r *Rules) *float64 { return &r.HoldHours },
			"A confirmed visit moves only if that saves more than this."),
		number("hours.travel", "h", 0, 24, func(r *Rules) *float64 { return &r.Hours.Travel },
			"To an apiary and back, where the apiary does not say its own."),
		number("hours.open", "h", 0, 8, func(r *Rules) *float64 { return &r.Hours.Open },
			"Opening one box that comes up easily."),
		number("hours.hard", "h", 0, 24, func(r *Rules) *float64 { return &r.Hours.Hard },
			"Extra for prying a hard box."),
		number("hours.stuck", "h", 0, 100, func(r *Rules) *float64 { return &r.Hours.Stuck },
			"Extra for a stuck box, with what has to be mended after it."),
		number("gap_mm.least", "mm", 1, 30, func(r *Rules) *float64 { return &r.GapMM.Least },
			"The narrowest gap that bees leave open; 7.9375 mm is 5/16 in. Published bands differ."),
		number("gap_mm.most", "mm", 1, 30, func(r *Rules) *float64 { return &r.GapMM.Most },
			"The widest gap that they leave without comb; 9.525 mm is 3/8 in."),
	}
	for s := range Stage(NumStages) {
		keys = append(keys, stageKeys(s, number)...)
	}
	return append(append(keys, homeKeys()...), reminderKeys(whole)...)
}

func stageKeys(s Stage, number func(string, string, float64, float64, func(*Rules) *float64, string) RuleKey) []RuleKey {
	table := "stage." + s.String() + "."
	return []RuleKey{
		number(table+"pace", "", 0, 5, func(r *Rules) *float64 { return &r.Stages[s].Pace },
			"How fast boxes seal in this stage, against 1 in the flow."),
		{
			Path: table + "open", Shape: TruthRule, Words: "Whether boxes may be opened in this stage.",
			get: func(r *Rules) any { return r.Stages[s].Open },
			set: func(r *Rules, v any) { r.Stages[s].Open = v.(bool) },
		},
		{
			Path: table + "required", Shape: RequiredRule,
			Words: "What this stage asks for: every box opened once, one visit to the apiary, or nothing.",
			get:   func(r *Rules) any { return r.Stages[s].Required },
			set:   func(r *Rules, v any) { r.Stages[s].Required = v.(Required) },
		},
		{
			Path: table + "starts", Shape: DayOfYearRule, Optional: true,
			Words: "The day on which this stage starts at the club's home place, if the club knows better than the table.",
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
	at := func(path, unit, words string, least, most float64, field func(*Home) *float64) RuleKey {
		return RuleKey{
			Path: path, Unit: unit, Words: words, Shape: NumberRule, Least: least, Most: most, Optional: true,
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
		at("home.latitude", "degrees", "Where the club observed its own stage starts; north is positive.",
			-90, 90, func(h *Home) *float64 { return &h.Latitude }),
		at("home.elevation_m", "m", "Height of that place above the sea.",
			-430, 6000, func(h *Home) *float64 { return &h.ElevationM }),
	}
}

func reminderKeys(whole func(string, float64, float64, func(*Rules) *int, string) RuleKey) []RuleKey {
	count := func(path string, least, most float64, at func(*Rules) *int, words string) RuleKey {
		k := whole(path, least, most, at, words)
		k.Unit = ""
		return k
	}
	return []RuleKey{
		{
			Path: "reminders.days_before", Unit: "days", Shape: WholesRule, Least: 0, Most: 60,
			Words: "A mail goes out this many days before a visit.",
			get:   func(r *Rules) any { return r.Reminders.DaysBefore },
			set: func(r *Rules, v any) {
				r.Reminders.DaysBefore = append([]int(nil), v.([]int)...)
			},
		},
		{
			Path: "reminders.send_at", Shape: ClockRule, Words: "The local time at which the day's mail goes out.",
			get: func(r *Rules) any { return r.Reminders.SendAt },
			set: func(r *Rules, v any) { r.Reminders.SendAt = v.(ClockTime) },
		},
		whole("reminders.overdue_every_days", 0, 90, func(r *Rules) *int { return &r.Reminders.OverdueEveryDays },
			"How often people hear of boxes past their day; 0 is never."),
		whole("reminders.escalate_after_days", 0, 365, func(r *Rules) *int { return &r.Reminders.EscalateAfterDays },
			"Organisers hear of boxes that are this long past their day; 0 is never."),
		count("reminders.most_a_week", 1, 7, func(r *Rules) *int { return &r.Reminders.MostAWeek },
			"Mails to one person in seven days, beside the one on the eve of a visit that they took."),
		count("reminders.quiet_after", 1, 10, func(r *Rules) *int { return &r.Reminders.QuietAfter },
			"After so many visits in a row about which nobody said a word, an apiary's mails go out every 14, then every 28 days, and organisers hear of it."),
	}
}
