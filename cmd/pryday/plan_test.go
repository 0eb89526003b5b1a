package main

import (
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// TestPlanOfFewDays: who asks for few days is told of the boxes that are due in
// them, and of no others.
func TestPlanOfFewDays(t *testing.T) {
	plan := []string{"plan", "--records", "../../testdata/demo.json", "--today", "2026-12-01"}
	year, few := mustRun(t, plan...), mustRun(t, append(plan, "--days", "3")...)
	if !strings.HasPrefix(few, "No visit falls on these days.\n") || !strings.Contains(few, "M17 of Tamarack") || strings.Contains(few, "S6 of Spruce") {
		t.Errorf("of 3 days it says:\n%s", few)
	}
	if !strings.Contains(year, "S6 of Spruce") {
		t.Error("the year leaves boxes out")
	}
}

func TestWhoGoesByTheirWord(t *testing.T) {
	club := &scheduler.Club{Members: []scheduler.Member{{ID: 1, Name: "Ada"}, {ID: 2, Name: "Bo"}}}
	for _, c := range []struct {
		visit    scheduler.Visit
		english  string
		inGerman string
	}{
		{scheduler.Visit{}, "", ""},
		{scheduler.Visit{Who: []int64{1, 2}}, "expected: Ada and Bo", "erwartet: Ada und Bo"},
		{scheduler.Visit{Who: []int64{1, 2}, Taken: []int64{2}}, "Bo", "Bo"},
	} {
		names := scheduler.NewNames(club)
		if got := goingTo(&c.visit, names, text.In("en", "")); got != c.english {
			t.Errorf("%+v: %q, want %q", c.visit, got, c.english)
		}
		if got := goingTo(&c.visit, names, text.In("de", "")); got != c.inGerman {
			t.Errorf("%+v: %q, want %q", c.visit, got, c.inGerman)
		}
	}
}
