package scheduler

import (
	"slices"
	"strings"
)

// DifferentRules returns the keys that a and b answer differently, in the
// order of the rules file.
func DifferentRules(a, b *Rules) []*RuleKey {
	var out []*RuleKey
	for i := range ruleKeys {
		if k := &ruleKeys[i]; FormatRule(k.Get(a)) != FormatRule(k.Get(b)) {
			out = append(out, k)
		}
	}
	return out
}

// MergeRules returns theirs, which others made of base meanwhile, with all that
// mine changes about base put over it. Both are the keys that both changed, to
// different values: mine stands there. Rules that can each be need not be able
// to stand together: the result is still to be validated.
func MergeRules(base, mine, theirs *Rules) (merged Rules, both []*RuleKey) {
	own, others := DifferentRules(base, mine), DifferentRules(base, theirs)
	merged = DefaultRules() // a copy: rules hold pointers
	for i := range ruleKeys {
		k := &ruleKeys[i]
		from := theirs
		if slices.ContainsFunc(own, k.togetherWith) {
			from = mine
			if slices.ContainsFunc(others, k.togetherWith) && FormatRule(k.Get(mine)) != FormatRule(k.Get(theirs)) {
				both = append(both, k)
			}
		}
		if v := k.Get(from); v != nil {
			k.set(&merged, v)
		} else {
			k.Clear(&merged)
		}
	}
	return merged, both
}

// togetherWith reports whether two keys are one answer: a place, whose
// latitude says nothing with the height of another.
func (k *RuleKey) togetherWith(other *RuleKey) bool {
	return k.Path == other.Path || strings.HasPrefix(k.Path, "home.") && strings.HasPrefix(other.Path, "home.")
}
