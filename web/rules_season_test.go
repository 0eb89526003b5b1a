package web

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"pryday/testdata/testrun"
)

// TestTheYearMovesWithTheRules: the rules show the year at the first apiary, a
// preview the year as it would be where that differs, and no other does.
func TestTheYearMovesWithTheRules(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	ansel.get("/rules").says(http.StatusOK, "The year at Orchard").holds(`<svg class="strip"`)
	own := ruleFormOf(c.rules().Rules, "2", "stage.flow.starts", "07-01", "home.latitude", "47.5", "home.elevation_m", "300")
	if n := strings.Count(ansel.post("/rules/preview", own).says(http.StatusOK, "The year at Orchard").body, `<svg class="strip"`); n != 2 {
		t.Errorf("%d years are drawn, want that of now and that of then", n)
	}
	ansel.get("/rules").hides("No visit is planned") // visits are not drawn there
	ansel.post("/rules/preview", ruleFormOf(c.rules().Rules, "2", "max_days", "300")).says(http.StatusOK).hides("The year at Orchard")

	drawn := ansel.post("/rules/season", own).says(http.StatusOK)
	if !strings.HasPrefix(drawn.body, `<figure class="year">`) || !strings.Contains(drawn.body, "flow") {
		t.Errorf("drawn is %s", cutTo(drawn.body, 200))
	}
	ansel.post("/rules/season", ruleFormOf(c.rules().Rules, "2", "stage.flow.starts", "07-")).says(http.StatusUnprocessableEntity)
	if c.rules().Version != 2 {
		t.Error("looking changed the rules")
	}
}

// moveTheYear types a date among the rules, which moves the strip.
func moveTheYear(t *testing.T, browser context.Context) {
	c := serveClub(t)
	b := c.open(t, browser, "Ansel")
	b.goTo("/rules")
	const flow = `document.querySelector("[data-year] rect.st-flow").getAttribute("x")`
	before := ask[string](b, flow)
	ask[bool](b, `document.querySelectorAll("details").forEach(d => d.open = true), true`)
	b.write("[name='home.latitude']", "47.5")
	b.write("[name='home.elevation_m']", "300")
	b.write("[name='stage.flow.starts']", "07-01")
	b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector("[name='stage.flow.starts']").dispatchEvent(new Event("input", {bubbles: true}))`))
	testrun.Until(t, "the flow moves", func() bool { return ask[string](b, flow) != before })
}
