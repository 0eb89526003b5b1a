package records

import (
	"regexp"
	"strings"
	"testing"

	"pryday/scheduler/text"
)

// ofOthers are words of other programs, which German quotes in brackets.
var ofOthers = regexp.MustCompile(`\(.*\)`)

// saidInGerman fails where problems are not said in German, or with a hole.
func saidInGerman(t *testing.T, ps Problems) {
	t.Helper()
	german := text.In("de", "")
	for _, p := range ps {
		said := german.Tell(p.Text())
		switch {
		case strings.Contains(said, "%!") || strings.Contains(p.String(), "%!"):
			t.Errorf("a hole: %s, %s", said, p)
		case regexp.MustCompile(`\b(is|the|not|allowed|line|has|of)\b`).MatchString(ofOthers.ReplaceAllString(said, "")):
			t.Errorf("English is left: %s", said)
		case p.Value != "" && !strings.Contains(p.Value, " ") && !strings.Contains(said, p.Value):
			t.Errorf("the value %s is not said: %s", p.Value, said)
		}
	}
	if said := german.Tell(ps.Text()); len(ps) > 1 && !strings.Contains(said, "Probleme") {
		t.Errorf("they are counted as %.40s", said)
	}
}
