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
			plain, noted := say.Tell(LeftAlone{Why: c}.Text()), say.Tell(LeftAlone{Why: c, Words: "by order"}.Text())
			if plain == "" || plain == "alone."+string(c) || noted != plain+": by order" {
				t.Errorf("%s: %q is said as %q, and noted as %q", language, c, plain, noted)
			}
		}
	}
	if got := (LeftAlone{}).Text(); !got.IsZero() {
		t.Errorf("a box in planning is left alone because %v", got)
	}
}

// TestAHiveIsLeftAloneUntilItsLastDay: the last day of a period belongs to it,
// also when that is today.
func TestAHiveIsLeftAloneUntilItsLastDay(t *testing.T) {
	today := date("2027-05-15")
	for _, tt := range []struct {
		until Date
		today bool // whether it may be opened
	}{{today - 1, true}, {today, false}, {today + 1, false}, {0, false}} {
		c := stand(date("2026-05-01"), nil)
		a := &c.Apiaries[0]
		a.Hives[0].LeaveAlone = []Period{{From: today - 5, Until: tt.until}}
		s := NewSeason(a.Place(), &c.Rules)
		var y days
		y.fill(a, c.Members, s, today)
		if got := y.mayOpen(0, 0); got != tt.today {
			t.Errorf("left alone until %s: it may be opened today: %t", tt.until, got)
		}
	}
}
