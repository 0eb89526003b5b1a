package scheduler

import (
	"math"
	"strings"
	"testing"

	"pryday/scheduler/text"
)

// TestCalendarCost adds a year up by hand.
func TestCalendarCost(t *testing.T) {
	shut := Opening{ID: "shut", On: date("2027-06-01"), Joint: Stuck, Frames: NotTried, LeftShut: true}
	c := stand(date("2026-05-01"),
		[]Opening{opened("2026-06-01", Stuck), opened("2027-05-01", Hard), opened("2027-06-01", Firm)},
		[]Opening{opened("2027-05-01", Loose), shut})
	travel := 1.5
	c.Apiaries[0].TravelHours = &travel
	c.Visits = []Visit{
		{ApiaryID: 5, On: date("2027-06-01"), Status: Done},
		{ApiaryID: 5, On: date("2027-10-01"), Status: Done},
		{ApiaryID: 5, On: date("2027-10-08"), Status: Done},
		{ApiaryID: 5, On: date("2027-10-02"), Status: Missed},
		{ApiaryID: 5, On: date("2026-10-01"), Status: Done},
	}
	c.Spare = []Box{{ID: 9, SetUpOn: date("2026-05-01"), Openings: []Opening{opened("2027-05-03", Loose)}, Places: []BoxPlace{
		{From: date("2026-05-01"), Where: OnHive, HiveID: 11, Position: 2}, {From: date("2027-05-03"), Where: InStore},
	}}}
	got := CalendarCost(c, date("2027-01-01"), date("2027-12-31"))
	h := c.Rules.Hours
	// days: 1 May, 3 May (the box that went into store), 1 June, 1 and 8 October
	want := Cost{
		From: date("2027-01-01"), Until: date("2027-12-31"), Visits: 5, Openings: 4, Hard: 1, Stuck: 1,
		Prying: h.Hard + h.Stuck, Hours: 5*(1.5+h.Setup) + 4*h.Open + h.Hard + h.Stuck,
	}
	if math.Abs(got.Hours-want.Hours) > 1e-9 {
		t.Errorf("%.3f hours, want %.3f", got.Hours, want.Hours)
	}
	got.Hours = want.Hours
	if got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
}

func TestExpectedHours(t *testing.T) {
	c := stand(date("2026-05-01"))
	v := Visit{ApiaryID: 5, Boxes: []VisitBox{{Odds: 0.3, Stuck: 0.1}, {Odds: 0.5}}}
	h := c.Rules.Hours
	if got, want := ExpectedHours(c, &v), h.Travel+h.Setup+2*h.Open+(0.2+0.5)*h.Hard+0.1*h.Stuck; math.Abs(got-want) > 1e-9 {
		t.Errorf("%.3f hours, want %.3f", got, want)
	}
	travel := 0.0
	c.Apiaries[0].TravelHours = &travel
	if got, want := ExpectedHours(c, &v), h.Setup+2*h.Open+0.7*h.Hard+0.1*h.Stuck; math.Abs(got-want) > 1e-9 {
		t.Errorf("at home %.3f hours, want %.3f", got, want)
	}
}

// TestSentencesSayTheirChance: a box that waits as long as the rules allow says its
// chance, and one left shut in September is not told by its opening of May.
func TestSentencesSayTheirChance(t *testing.T) {
	shut := Opening{ID: "shut", On: date("2026-09-10"), Joint: Stuck, Frames: NotTried, LeftShut: true}
	c := stand(date("2022-05-01"), nil, []Opening{opened("2026-05-20", Firm), shut})
	c.Rules.OddsLimit = 0.9
	today := date("2027-05-20")
	plan := PlanClub(c, today)
	say := text.In("en", text.Millimetres).Terse(2027)
	for i, want := range []string{
		"B1 of H1: not opened since it was set up (1 May 2022)",
		"B2 of H2: left shut on 10 Sep 2026; needs two people",
	} {
		e := ExplainBox(c, plan, &plan.Boxes[i])
		got := say.Tell(e.Text())
		if len(got) < len(want) || got[:len(want)] != want {
			t.Errorf("%s", got)
		}
		if chance := say.Tell(text.New("explain.hard-today", text.Chance(e.Odds))); !strings.Contains(got, chance) || e.Odds < 0.4 {
			t.Errorf("%q does not say %q", got, chance)
		}
		if n := e.Openings; n != []int{0, 2}[i] {
			t.Errorf("%d openings on record", n)
		}
	}
}
