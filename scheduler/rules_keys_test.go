package scheduler

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"pryday/scheduler/text"
)

func TestDefaultRulesAreValid(t *testing.T) {
	r := DefaultRules()
	if got := r.Validate(); len(got) != 0 {
		t.Errorf("the defaults are refused: %v", got)
	}
}

func TestEveryRuleCanBeReadAndSet(t *testing.T) {
	r := DefaultRules()
	r.Home = &Home{Latitude: 44, ElevationM: 300}
	for s := range Stage(NumStages) {
		r.Stages[s].Starts = MonthDay{3, 1 + int(s)}
	}
	var copied Rules
	for _, k := range RuleKeys() {
		v := k.Get(&r)
		back, err := k.ParseRule(FormatRule(v))
		if err != nil {
			t.Fatalf("%s: %q does not parse: allowed %v", k.Path, FormatRule(v), err)
		}
		if err := k.Set(&copied, back); err != nil {
			t.Fatalf("%s: %v is refused: allowed %v", k.Path, back, err)
		}
		if !text.Has(k.Words().Key) || !text.Has(k.Allowed().Key) || k.Unit != "" && !text.Has("unit."+k.Unit) {
			t.Errorf("%s has no words", k.Path)
		}
		if FindRuleKey(k.Path) == nil {
			t.Errorf("%s is not found", k.Path)
		}
	}
	if !reflect.DeepEqual(r, copied) {
		t.Errorf("the keys do not carry every rule:\n%+v\n%+v", r, copied)
	}
}

func TestSetRefuses(t *testing.T) {
	for _, tt := range []struct {
		path  string
		value any
	}{
		{"odds_limit", 0.95},
		{"odds_limit", math.NaN()},
		{"odds_limit", "0.2"},
		{"min_days", -1},
		{"min_days", 21.0},
		{"stage.flow.open", 1},
		{"stage.flow.required", Required("openings")},
		{"stage.flow.starts", MonthDay{2, 30}},
		{"reminders.send_at", ClockTime(24 * 60)},
		{"reminders.days_before", []int{7, 7}},
		{"reminders.days_before", []int{61}},
		{"home.latitude", 91.0},
	} {
		r := DefaultRules()
		if err := FindRuleKey(tt.path).Set(&r, tt.value); err == nil {
			t.Errorf("%s took %v", tt.path, tt.value)
		}
		if !reflect.DeepEqual(r, DefaultRules()) {
			t.Errorf("%s: refusing %v changed the rules", tt.path, tt.value)
		}
	}
}

func TestValidatePairs(t *testing.T) {
	starts := func(r *Rules, days ...MonthDay) {
		r.Home = &Home{Latitude: 44, ElevationM: 300}
		for i, d := range days {
			r.Stages[i].Starts = d
		}
	}
	for _, tt := range []struct {
		name   string
		change func(*Rules)
		key    string // of the problem; empty for none
	}{
		{"waits cross", func(r *Rules) { r.MinDays, r.MaxDays = 60, 60 }, "min_days"},
		{"gap limits cross", func(r *Rules) { r.GapMM.Least = 10 }, "gap_mm.least"},
		{"stuck cheaper than hard", func(r *Rules) { r.Hours.Stuck = 0.1 }, "hours.stuck"},
		{"duty in a closed stage", func(r *Rules) { r.Stages[Winter].Required = VisitRequired }, "stage.winter.required"},
		{"nothing ever open", func(r *Rules) {
			for s := range r.Stages {
				r.Stages[s].Open, r.Stages[s].Required = false, ""
			}
		}, "stage.flow.open"},
		{"out of range", func(r *Rules) { r.OddsLimit = 0 }, "odds_limit"},
		{"starts without a home", func(r *Rules) { r.Stages[Flow].Starts = MonthDay{5, 1} }, "stage.flow.starts"},
		{"starts in order", func(r *Rules) {
			starts(r, MonthDay{3, 28}, MonthDay{5, 15}, MonthDay{7, 25}, MonthDay{9, 28}, MonthDay{11, 5})
		}, ""},
		{"starts round the year's end", func(r *Rules) {
			starts(r, MonthDay{9, 1}, MonthDay{11, 5}, MonthDay{1, 20}, MonthDay{4, 1}, MonthDay{6, 5})
		}, ""},
		{"starts out of order", func(r *Rules) {
			starts(r, MonthDay{3, 28}, MonthDay{7, 25}, MonthDay{5, 15}, MonthDay{9, 28}, MonthDay{11, 5})
		}, "stage.late-summer.starts"},
		{"two on one day", func(r *Rules) { starts(r, MonthDay{3, 28}, MonthDay{3, 28}) }, "stage.flow.starts"},
	} {
		r := DefaultRules()
		tt.change(&r)
		got := r.Validate()
		switch {
		case tt.key == "" && len(got) != 0:
			t.Errorf("%s: refused: %v", tt.name, got)
		case tt.key != "" && (len(got) != 1 || got[0].Key != tt.key || !text.Has(got[0].Allowed.Key) || !strings.Contains(got[0].Error(), tt.key)):
			t.Errorf("%s: got %v, want one problem of %s", tt.name, got, tt.key)
		}
	}
}
