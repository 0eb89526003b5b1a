package scheduler

import (
	"fmt"
	"time"

	"pryday/scheduler/text"
)

// RuleProblem is one rule that cannot be, with what is allowed instead.
type RuleProblem struct {
	Key, Value string
	Allowed    text.Text
}

// Error says in English which rule cannot be and why.
func (p RuleProblem) Error() string {
	return fmt.Sprintf("%s is %s; allowed: %s", p.Key, p.Value, (&text.Speaker{}).Tell(p.Allowed))
}

// Validate returns every rule that is out of its range, and every pair of
// rules that cannot both hold.
func (r *Rules) Validate() []RuleProblem {
	var found []RuleProblem
	bad := func(key string, allowed text.Text) {
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
		bad("min_days", text.New("allowed.fewer-days", r.MaxDays))
	}
	if r.GapMM.Least >= r.GapMM.Most {
		bad("gap_mm.least", text.New("allowed.less-gap", formatNumber(r.GapMM.Most)))
	}
	if r.Hours.Stuck < r.Hours.Hard {
		bad("hours.stuck", text.New("allowed.more-hours", formatNumber(r.Hours.Hard)))
	}
	open := false
	for s := range Stage(NumStages) {
		rule := r.Stages[s]
		open = open || rule.Open
		if !rule.Open && rule.Required != NothingRequired {
			bad("stage."+s.String()+".required", text.New("allowed.none-when-shut"))
		}
	}
	if !open {
		bad("stage.flow.open", text.New("allowed.one-open"))
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
			found = append(found, RuleProblem{key, starts.String(), text.New("allowed.with-home")})
			continue
		}
		day := int(starts.In(2023) - NewDate(2023, time.January, 1))
		if first < 0 {
			first = day
		} else if day == last {
			found = append(found, RuleProblem{key, starts.String(), text.New("allowed.later-day")})
		} else if day < last {
			turns++
		}
		last = day
		if turns > 1 || (turns == 1 && day >= first) {
			found = append(found, RuleProblem{key, starts.String(), text.New("allowed.in-order")})
			break
		}
	}
	return found
}
