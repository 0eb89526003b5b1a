package scheduler

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pryday/scheduler/text"
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
	WeekdaysRule                   // WeekdaySet
)

// RuleKey is one thing that a club can set, as rules files, the records
// document and forms name it.
type RuleKey struct {
	Path        string // "hours.travel"; the part before the last dot is the table
	Unit        string // "days", "h", "mm", the key of a unit, or empty
	Shape       RuleShape
	Least, Most float64 // bounds of numbers, both ends allowed
	Optional    bool    // Get may return nil: the rules work without it

	get func(*Rules) any
	set func(*Rules, any)
}

// maxDaysBefore is how many reminder days a club may have.
const maxDaysBefore = 10

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

// Set puts a value of the key's shape into r. On an error, which says what
// Allowed says, r is unchanged.
func (k *RuleKey) Set(r *Rules, v any) error {
	if !k.fits(v) {
		return k.refuse()
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
	case WeekdaySet:
		return k.Shape == WeekdaysRule && v < 1<<7
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

// Words says what the rule does, in plain words. Every stage has the same.
func (k *RuleKey) Words() text.Text {
	path := k.Path
	if rest, ok := strings.CutPrefix(path, "stage."); ok {
		_, name, _ := strings.Cut(rest, ".")
		path = "stage." + name
	}
	return text.New("rule." + path)
}

// Stage returns the stage that the rule is of; false for one of all the year.
func (k *RuleKey) Stage() (Stage, bool) {
	for s := range Stage(NumStages) {
		if strings.HasPrefix(k.Path, "stage."+s.String()+".") {
			return s, true
		}
	}
	return 0, false
}

// Span says between which numbers the values of the key lie.
func (k *RuleKey) Span() text.Text {
	least, most := formatNumber(k.Least), formatNumber(k.Most)
	if k.Unit == "" {
		return text.New("allowed.span", least, most)
	}
	return text.New("allowed.span-unit", least, most, text.New("unit."+k.Unit))
}

// Allowed says which values the key takes.
func (k *RuleKey) Allowed() text.Text {
	switch k.Shape {
	case NumberRule:
		return text.New("allowed.number", k.Span())
	case WholeRule:
		return text.New("allowed.whole", k.Span())
	case TruthRule:
		return text.New("allowed.truth")
	case RequiredRule:
		return text.New("allowed.required")
	case ClockRule:
		return text.New("allowed.clock")
	case DayOfYearRule:
		return text.New("allowed.day-of-year")
	case WeekdaysRule:
		return text.New("allowed.weekdays", strings.Join(WeekdayNames[:], ", "))
	default:
		return text.New("allowed.wholes", maxDaysBefore, k.Span())
	}
}

// refuse is the error of a value that the key does not take.
func (k *RuleKey) refuse() error {
	return fmt.Errorf("%s: %s", k.Path, (&text.Speaker{}).Tell(k.Allowed()))
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
	case WeekdaySet:
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

// ParseRule reads a value as FormatRule writes it. The error says what Allowed
// says.
func (k *RuleKey) ParseRule(s string) (any, error) {
	s = strings.TrimSpace(s)
	v, ok := k.parse(s)
	if !ok || !k.fits(v) {
		return nil, k.refuse()
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
	case WeekdaysRule:
		return ParseWeekdays(splitWeekdays(s))
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
