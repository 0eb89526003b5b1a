package scheduler

import (
	"testing"

	"pryday/scheduler/text"
)

// TestClosingsHaveWords: every closing can be said in every language, those
// that take a box out of planning also with what a person noted.
func TestClosingsHaveWords(t *testing.T) {
	for _, language := range []string{"en", "de"} {
		say := text.In(language, "")
		seen := map[string]Closing{}
		for _, c := range []Closing{ClosedWinter, ClosedStage, ClosedReseal, ClosedStandstill, ClosedOwner, ClosedHive, ClosedKeepers} {
			word := say.Word(c)
			if word == "" || word == c.WordKey() || seen[word] != "" {
				t.Errorf("%s: %q is said as %q", language, c, word)
			}
			seen[word] = c
		}
		for _, c := range []Closing{HiveRetired, BoxRetired, ClosedStandstill, ClosedHive, NoneOpenable} {
			plain, noted := say.Tell(LeftAlone{Why: c}.Text()), say.Tell(LeftAlone{c, "by order"}.Text())
			if plain == "" || plain == "alone."+string(c) || noted != plain+": by order" {
				t.Errorf("%s: %q is said as %q, and noted as %q", language, c, plain, noted)
			}
		}
	}
	if got := (LeftAlone{}).Text(); !got.IsZero() {
		t.Errorf("a box in planning is left alone because %v", got)
	}
}
