package scheduler

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// RuleShape says what a rule's value looks like.
type RuleShape int

// The shapes of rule values, with the Go type that Get returns and Set takes.
const (
	NumberRule    RuleShape = iota // float64
	WholeRule                      // int
	TruthRule                      // bool
	RequiredRule                   // Required
	ClockRule                      // ClockTime
	DayOfYearRule                  // MonthDay
	WholesRule                     // []int
)

// RuleKey is one thing that a club can set, as rules files, the records
// document and forms name it.
type RuleKey struct {
	Path        string // "hours.travel"; the part before the last dot is the table
	Words       string // what it does, in plain words
	Unit        string // "days", "h", "mm", or empty
	Shape       RuleShape
	Least, Most float64 // bounds of numbers, both ends allowed
	Optional    bool    // Get may return nil: the rules work without it

	get func(*Rules) any
	set func(*Rules, any)
}

// maxDaysBefore is how many reminder days a club may have.
const maxDaysBefore = 10

var ruleKeys = buildRuleKeys()

// RuleKeys returns every rule key in the order of the rules file. The caller
// must not change the slice.
func RuleKeys() []RuleKey { return ruleKeys }

// FindRuleKey returns the key with a path, or nil.
func FindRuleKey(path string) *RuleKey {
	for i := range ruleKeys {
		if ruleKeys[i].Path == path {
			return &ruleKeys[i]
		}
	}
	return nil
}

// Get returns the value in r, or nil when an optional one is not set.
func (k *RuleKey) Get(r *Rules) any { return k.get(r) }

// Set puts a value of the key's shape into r. The error says what is allowed;
// r is then unchanged.
func (k *RuleKey) Set(r *Rules, v any) error {
	if !k.fits(v) {
		return fmt.Errorf("%s", k.Allowed())
	}
	k.set(r, v)
	return nil
}

// Clear takes an optional value out of r.
func (k *RuleKey) Clear(r *Rules) {
	if k.Optional {
		k.set(r, nil)
	}
}

func (k *RuleKey) within(v float64) bool { return v >= k.Least && v <= k.Most }

func (k *RuleKey) fits(v any) bool {
	switch v := v.(type) {
	case float64:
		return k.Shape == NumberRule && k.within(v)
	case int:
		return k.Shape == WholeRule && k.within(float64(v))
	case bool:
		return k.Shape == TruthRule
	case Required:
		return k.Shape == RequiredRule && (v == NothingRequired || v == OpeningRequired || v == VisitRequired)
	case ClockTime:
		return k.Shape == ClockRule && v >= 0 && v < 24*60
	case MonthDay:
		return k.Shape == DayOfYearRule && v.valid()
	case []int:
		if k.Shape != WholesRule || len(v) > maxDaysBefore {
			return false
		}
		for i, n := range v {
			if !k.within(float64(n)) || slices.Contains(v[:i], n) {
				return false
			}
		}
		return true
	}
	return false
}

// Allowed says in words which values the key takes.
func (k *RuleKey) Allowed() string {
	unit := ""
	if k.Unit != "" {
		unit = " " + k.Unit
	}
	span := formatNumber(k.Least) + " to " + formatNumber(k.Most) + unit
	switch k.Shape {
	case NumberRule:
		return "a number, " + span
	case WholeRule:
		return "a whole number, " + span
	case TruthRule:
		return "true or false"
	case RequiredRule:
		return `"opening", "visit" or "none"`
	case ClockRule:
		return `a time of day such as "07:00"`
	case DayOfYearRule:
		return `a month and day such as "04-18"`
	default:
		return fmt.Sprintf("a list of at most %d different whole numbers, each %s", maxDaysBefore, span)
	}
}

// FormatRule writes a value that Get returned as people type it, without
// quotes: 0.2, true, opening, 07:00, 04-18, or 7, 1 for a list.
func FormatRule(v any) string {
	switch v := v.(type) {
	case float64:
		return formatNumber(v)
	case int:
		return strconv.Itoa(v)
	case bool:
		return strconv.FormatBool(v)
	case Required:
		if v == NothingRequired {
			return "none"
		}
		return string(v)
	case ClockTime:
		return v.String()
	case MonthDay:
		return v.String()
	case []int:
		parts := make([]string, len(v))
		for i, n := range v {
			parts[i] = strconv.Itoa(n)
		}
		return strings.Join(parts, ", ")
	}
	return ""
}

// ParseRule reads a value as FormatRule writes it. The error says what is
// allowed.
func (k *RuleKey) ParseRule(s string) (any, error) {
	s = strings.TrimSpace(s)
	v, ok := k.parse(s)
	if !ok || !k.fits(v) {
		return nil, fmt.Errorf("%s", k.Allowed())
	}
	return v, nil
}

func (k *RuleKey) parse(s string) (v any, ok bool) {
	var err error
	switch k.Shape {
	case NumberRule:
		v, err = strconv.ParseFloat(s, 64)
	case WholeRule:
		v, err = strconv.Atoi(s)
	case TruthRule:
		return s == "true", s == "true" || s == "false"
	case RequiredRule:
		if s == "none" {
			s = ""
		}
		return Required(s), true
	case ClockRule:
		v, err = ParseClockTime(s)
	case DayOfYearRule:
		v, err = ParseMonthDay(s)
	case WholesRule:
		var list []int
		for part := range strings.SplitSeq(s, ",") {
			if part = strings.TrimSpace(part); part == "" && len(s) == 0 {
				continue
			}
			n, err := strconv.Atoi(part)
			if err != nil {
				return nil, false
			}
			list = append(list, n)
		}
		return list, true
	}
	return v, err == nil
}

// formatNumber writes v without an exponent, and negative zero as 0.
func formatNumber(v float64) string { return strconv.FormatFloat(v+0, 'f', -1, 64) }

// String returns the time of day as 07:00.
func (c ClockTime) String() string { return fmt.Sprintf("%02d:%02d", int(c)/60, int(c)%60) }

// ParseClockTime reads a time of day written as 07:00, from 00:00 to 23:59.
func ParseClockTime(s string) (ClockTime, error) {
	t, err := time.Parse("15:04", s)
	if err != nil || len(s) != len("15:04") {
		return 0, fmt.Errorf(`%q is not a time of day; write it as "07:00"`, s)
	}
	return ClockTime(t.Hour()*60 + t.Minute()), nil
}

// String returns m as 04-18, month first.
func (m MonthDay) String() string { return fmt.Sprintf("%02d-%02d", int(m.Month), m.Day) }

// ParseMonthDay reads a day of the year written as 04-18, month first.
func ParseMonthDay(s string) (MonthDay, error) {
	t, err := time.Parse(time.DateOnly, "2024-"+s) // a leap year, so that 02-29 is a day
	if err != nil {
		return MonthDay{}, fmt.Errorf(`%q is not a day of the year; write it as "04-18", month first`, s)
	}
	return MonthDay{t.Month(), t.Day()}, nil
}

func (m MonthDay) valid() bool {
	_, err := ParseMonthDay(m.String())
	return err == nil
}

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
	}
}

// RuleProblem is one rule that cannot be, with what is allowed instead.
type RuleProblem struct{ Key, Value, Allowed string }

// Error says which rule cannot be and why.
func (p RuleProblem) Error() string {
	return fmt.Sprintf("%s is %s; allowed: %s", p.Key, p.Value, p.Allowed)
}

// Validate returns every rule that is out of its range, and every pair of
// rules that cannot both hold.
func (r *Rules) Validate() []RuleProblem {
	var found []RuleProblem
	bad := func(key, allowed string) {
		found = append(found, RuleProblem{key, FormatRule(FindRuleKey(key).Get(r)), allowed})
	}
	for i := range ruleKeys {
		k := &ruleKeys[i]
		if v := k.Get(r); v != nil && !k.fits(v) {
			bad(k.Path, k.Allowed())
		}
	}
	if len(found) > 0 {
		return found // the pairs below would only repeat it
	}
	if r.MinDays >= r.MaxDays {
		bad("min_days", fmt.Sprintf("fewer days than max_days, which is %d", r.MaxDays))
	}
	if r.GapMM.Least >= r.GapMM.Most {
		bad("gap_mm.least", "less than gap_mm.most, which is "+formatNumber(r.GapMM.Most)+" mm")
	}
	if r.Hours.Stuck < r.Hours.Hard {
		bad("hours.stuck", "at least hours.hard, which is "+formatNumber(r.Hours.Hard)+" h")
	}
	open := false
	for s := range Stage(NumStages) {
		rule := r.Stages[s]
		open = open || rule.Open
		if !rule.Open && rule.Required != NothingRequired {
			bad("stage."+s.String()+".required", `"none" in a stage with open = false`)
		}
	}
	if !open {
		bad("stage.flow.open", "true in at least one stage, or no box could ever be opened")
	}
	return append(found, r.validateStarts()...)
}

// validateStarts checks the club's own stage dates: they need the place that
// they were seen at, and they go round the year once, in order.
func (r *Rules) validateStarts() []RuleProblem {
	var found []RuleProblem
	turns, last, first := 0, 0, -1
	for s := range Stage(NumStages) {
		starts := r.Stages[s].Starts
		if starts.IsZero() {
			continue
		}
		key := "stage." + s.String() + ".starts"
		if r.Home == nil {
			found = append(found, RuleProblem{key, starts.String(), "only with home.latitude and home.elevation_m, the place where it was seen"})
			continue
		}
		day := int(starts.In(2023) - NewDate(2023, time.January, 1))
		if first < 0 {
			first = day
		} else if day == last {
			found = append(found, RuleProblem{key, starts.String(), "a day after the start of the stage before it"})
		} else if day < last {
			turns++
		}
		last = day
		if turns > 1 || (turns == 1 && day >= first) {
			found = append(found, RuleProblem{key, starts.String(), "stages in the order build-up, flow, late-summer, autumn, winter"})
			break
		}
	}
	return found
}
