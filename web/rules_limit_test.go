package web

import (
	"math"
	"net/http"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// TestALimitIsChosenByWhatItComesTo goes from the rules to the choice, to what
// would move, and to rules that hold.
func TestALimitIsChosenByWhatItComesTo(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	ansel.get("/rules").holds(`href="/rules/limit"`).holds(`value="1 in 5"`).hides("<code>")
	page := ansel.get("/rules/limit").says(http.StatusOK, "1 in 20", "1 in 10", "1 in 5 holds now", "1 in 4", "1 in 3")
	club, say := c.club(), new(text.Speaker)
	for _, l := range scheduler.PreviewLimits(club, []float64{0.05, 0.2, 1. / 3}, today) {
		for _, says := range []string{say.Say("page.records.visits", l.Visits), say.Say("command.import.openings", l.Openings)} {
			if !strings.Contains(page.text(), says) {
				t.Errorf("of limit %.2f the page does not say %q", l.Limit, says)
			}
		}
	}
	form := fields("version", page.field("version"), "odds_limit", "0.1")
	for _, name := range paths() {
		if name != "odds_limit" {
			form.Set(name, page.field(name))
		}
	}
	seen := ansel.post("/rules/preview", form).says(http.StatusOK, "Nothing is saved yet", "1 in 10", "The coming year")
	if n := strings.Count(seen.body, "<s>"); n != 1 {
		t.Errorf("%d rules would change, want the limit alone", n)
	}
	ansel.follow("/rules", formOf(seen)).says(http.StatusOK, "Saved: version 3 holds now")
	held := c.rules().Rules
	want := scheduler.DefaultRules()
	want.OddsLimit = 0.1
	if scheduler.FormatRule(held.OddsLimit) != "0.1" || held.MaxDays != want.MaxDays {
		t.Errorf("the limit is %v, and %d days", held.OddsLimit, held.MaxDays)
	}
	ansel.get("/rules/limit").says(http.StatusOK, "1 in 10 holds now")
	c.as("Brida").get("/rules/limit").says(http.StatusForbidden)
}

// TestALimitIsTypedAsPeopleSayIt: as a share, in percent or as a number.
func TestALimitIsTypedAsPeopleSayIt(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	version := 2
	for typed, want := range map[string]float64{"1 in 8": 0.125, "1 von 4": 0.25, "12 %": 0.12, "7,5%": 0.075, "0,3": 0.3, "1 in 3": 1. / 3} {
		ansel.follow("/rules", ruleFormOf(c.rules().Rules, itoa(int64(version)), "odds_limit", typed)).says(http.StatusOK, "Saved: version")
		version++
		if got := c.rules().Rules.OddsLimit; math.Abs(got-want) > 1e-15 {
			t.Errorf("%q is held as %v, want %v", typed, got, want)
		}
	}
	for _, typed := range []string{"1 in 0", "1 to 5", "95 %", "0 %", "often"} {
		page := ansel.post("/rules", ruleFormOf(c.rules().Rules, itoa(int64(version)), "odds_limit", typed)).says(http.StatusUnprocessableEntity, "a number, 0.01 to 0.9")
		if got := page.field("odds_limit"); got != typed {
			t.Errorf("%q is shown again as %q", typed, got)
		}
	}
}
