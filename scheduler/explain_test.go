package scheduler

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pryday/scheduler/text"
)

// TestLastTimeIsOfItsDay: "stuck last time (4 September)" is said only where the
// record that decides on that day says stuck, and "left shut" only where it says
// that.
func TestLastTimeIsOfItsDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawHistory(t)
		rates := Replay(c, historyFrom+60+Date(spread(t, "until", 840)))
		for _, b := range everyBox(c) {
			r, ok := rates.Of(b.ID)
			if !ok || r.LastHard == NotTried {
				continue
			}
			on := r.LastOpened
			if r.ShutOn != 0 {
				on = r.ShutOn
			}
			o := b.OpeningOn(on)
			if o == nil || o.Difficulty() != r.LastHard || o.LeftShut != (r.ShutOn != 0) {
				t.Fatalf("box %d: %v on %v (left shut: %t), but that day's record is %+v", b.ID, r.LastHard, on, r.ShutOn != 0, o)
			}
		}
	})
}

// TestExplanations says every kind of sentence once, whole.
func TestExplanations(t *testing.T) {
	today := date("2027-06-10")
	two := func(club func(*Club)) func() *Club {
		return func() *Club {
			c := stand(date("2026-05-01"), []Opening{opened("2026-09-01", Hard), opened("2027-06-01", Hard)},
				[]Opening{opened("2027-06-01", Firm)})
			c.Apiaries[0].Weekdays = 1 << 6
			club(c)
			return c
		}
	}
	tests := []struct {
		name  string
		club  func() *Club
		today Date
		box   string
		visit string
	}{
		{
			"odds, before others", two(func(*Club) {}), today,
			"B1 of H1: hard last time (1 Jun); the chance of a hard opening passes 1 in 5 on 11 Aug; visit set for Sat 7 Aug, with 1 more box",
			"Orchard on Sat 7 Aug: 2 boxes to open, first B1 of H1 by 11 Aug, because the chance of a hard opening passes 1 in 5 then",
		},
		{
			"corrected", two(func(c *Club) {
				c.Recalibration = Recalibration{Openings: 300, Hard: Curve{0.7, 1}, Stuck: identity}
			}), today, // logit 0.2 + 0.7 is the logit of 0.335
			"B1 of H1: hard last time (1 Jun); the chance of a hard opening passes 1 in 3 on 11 Aug; visit set for Sat 7 Aug, with 1 more box",
			"Orchard on Sat 7 Aug: 2 boxes to open, first B1 of H1 by 11 Aug, because the chance of a hard opening passes 1 in 3 then",
		},
		{
			"together", two(func(c *Club) { c.Apiaries[0].Hives[1].Boxes[0].Openings[0].Joint = Hard }), today,
			"B1 of H1: hard last time (1 Jun); the chance of a hard opening passes 1 in 5 on 11 Aug; visit set for Sat 7 Aug, with 1 more box",
			"Orchard on Sat 7 Aug: 2 boxes to open, first B1 of H1 by 11 Aug, because the chance of a hard opening passes 1 in 5 then",
		},
		{
			"odds long past", two(func(*Club) {}), today + 120,
			"B1 of H1: hard last time (1 Jun); the chance of a hard opening passed 1 in 5 on 11 Aug; overdue by 58 days; a 3 in 5 chance that it is hard today; visit likely on Sat 29 Apr 2028, with 1 more box",
			"Orchard on Sat 23 Oct: no box to open; the visit that autumn asks for",
		},
		{
			"out of winter", two(func(c *Club) {
				c.Apiaries[0].Hives[0].Boxes[0].Openings = []Opening{opened("2027-08-20", Hard)}
			}), date("2027-11-20"), "B2 of H2: firm last time (1 Jun); the chance of a hard opening passed 1 in 5 on 16 Sep; overdue by 65 days; a 1 in 3 chance that it is hard today; visit set for Sat 29 Apr 2028, with 1 more box",
			"Orchard on Sat 29 Apr 2028: 2 boxes to open, first B2 of H2, overdue since 16 Sep, because the chance of a hard opening has passed 1 in 5",
		},
		{
			"required", two(func(c *Club) { c.Rules.OddsLimit = 0.9 }), today + 310,
			"B1 of H1: hard last time (1 Jun 2027); every box is opened once in build-up, this one by 5 May; a 7 in 10 chance that it is hard today; visit set for Sat 29 Apr, with 1 more box",
			"Orchard on Sat 29 Apr: 2 boxes to open, first B1 of H1 by 5 May, because every box is opened once in this season",
		},
		{
			"longest wait", two(func(c *Club) { c.Rules.OddsLimit, c.Rules.MaxDays = 0.9, 60 }), today,
			"B1 of H1: hard last time (1 Jun); it has waited as long as the rules allow on 31 Jul; visit set for Sat 31 Jul, with 1 more box",
			"Orchard on Sat 31 Jul: 2 boxes to open, first B1 of H1 by 31 Jul, because it has then waited as long as the rules allow",
		},
		{
			"never opened", two(func(c *Club) { c.Apiaries[0].Hives[0].Boxes[0].Openings = nil }), date("2026-05-05"),
			"B1 of H1: not opened since it was set up (1 May); the chance of a hard opening passes 1 in 5 on 21 Aug; visit set for Sat 15 Aug, with 1 more box",
			"Orchard on Sat 15 Aug: 2 boxes to open, first B1 of H1 by 21 Aug, because the chance of a hard opening passes 1 in 5 then",
		},
		{
			"left shut since", two(func(c *Club) {
				shut := opened("2027-06-08", Stuck)
				shut.LeftShut = true
				b := &c.Apiaries[0].Hives[0].Boxes[0]
				b.Openings = []Opening{opened("2026-09-01", Light), shut}
			}), today,
			"B1 of H1: left shut on 8 Jun; needs two people; the chance of a hard opening passed 1 in 5 on 21 Apr; overdue by 50 days; a 1 in 3 chance that it is hard today; visit set for Sat 12 Jun",
			"Orchard on Sat 12 Jun: one box to open, B1 of H1, overdue since 21 Apr, because the chance of a hard opening has passed 1 in 5",
		},
		{
			"left alone", two(func(c *Club) {
				c.Apiaries[0].Hives[0].LeaveAlone = []Period{{From: today, Reason: "queen cells"}}
			}), today,
			"B1 of H1: hard last time (1 Jun); the chance of a hard opening passes 1 in 5 on 11 Aug; out of planning at present (leave alone: queen cells)",
			"Orchard on Sat 25 Sep: one box to open, B2 of H2 by 16 Sep, because the chance of a hard opening passes 1 in 5 then; the visit that autumn asks for",
		},
		{
			"a box below", two(func(c *Club) {
				h := &c.Apiaries[0].Hives[0]
				h.Boxes = append(h.Boxes, Box{ID: 7, Name: "B7", SetUpOn: date("2026-05-01"), Openings: []Opening{opened("2027-07-05", Loose)}})
			}), date("2027-07-21"),
			"B7 of H1: loose last time (5 Jul); the chance of a hard opening passes 1 in 5 on 13 Oct; moved out of the days before winter to 6 Oct; visit set for Sat 21 Aug, for a box below it, with 2 more boxes",
			"Orchard on Sat 21 Aug: 3 boxes to open, first B1 of H1 by 22 Aug, because the chance of a hard opening passes 1 in 5 then",
		},
		{
			"came off for a box below", two(func(c *Club) {
				h := &c.Apiaries[0].Hives[0]
				h.Boxes = append(h.Boxes, Box{ID: 7, Name: "B7", SetUpOn: date("2026-05-01")})
			}), date("2027-07-21"),
			"B7 of H1: came off on 1 Jun for a box below it, which nobody wrote down; the chance of a hard opening passes 1 in 5 on 30 Jul; a 1 in 6 chance that it is hard today; visit set for Sat 24 Jul, with 2 more boxes",
			"Orchard on Sat 24 Jul: 3 boxes to open, first B7 of H1 by 30 Jul, because the chance of a hard opening passes 1 in 5 then",
		},
		{
			"came off since it was left shut", two(func(c *Club) {
				h := &c.Apiaries[0].Hives[0]
				shut := opened("2027-05-20", Stuck)
				shut.LeftShut = true
				h.Boxes = append(h.Boxes, Box{ID: 7, Name: "B7", SetUpOn: date("2026-05-01"), Openings: []Opening{opened("2027-04-20", Firm), shut}})
			}), date("2027-07-21"),
			"B7 of H1: came off on 1 Jun for a box below it, which nobody wrote down; the chance of a hard opening passed 1 in 5 on 10 Jul; overdue by 11 days; a 1 in 3 chance that it is hard today; visit set for Sat 24 Jul, with 1 more box",
			"Orchard on Sat 24 Jul: 2 boxes to open, first B7 of H1, overdue since 10 Jul, because the chance of a hard opening has passed 1 in 5",
		},
		{
			"came off since it was opened", two(func(c *Club) {
				h := &c.Apiaries[0].Hives[0]
				h.Boxes = append(h.Boxes, Box{ID: 7, Name: "B7", SetUpOn: date("2026-05-01"), Openings: []Opening{opened("2027-04-20", Firm)}})
			}), date("2027-07-21"),
			"B7 of H1: firm last time (20 Apr); came off on 1 Jun for a box below it, which nobody wrote down; the chance of a hard opening passes 1 in 5 on 16 Aug; a 1 in 16 chance that it is hard today; visit set for Sat 7 Aug, with 2 more boxes",
			"Orchard on Sat 7 Aug: 3 boxes to open, first B1 of H1 by 11 Aug, because the chance of a hard opening passes 1 in 5 then",
		},
		{
			"outweighed", two(func(c *Club) {
				c.Apiaries[0].Hives[0].Boxes[0].Openings = []Opening{opened("2026-05-20", Stuck), opened("2026-09-01", Loose)}
			}), today,
			"B1 of H1: loose last time (1 Sep 2026); stuck (20 May 2026) counts for less than loose after a longer wait (1 Sep 2026); the chance of a hard opening passed 1 in 5 on 24 Oct 2026; moved out of the days before winter to 12 Apr; overdue by 59 days; a 1 in 2 chance that it is hard today; visit set for Sat 12 Jun",
			"Orchard on Sat 12 Jun: one box to open, B1 of H1, overdue since 12 Apr, because the chance of a hard opening has passed 1 in 5",
		},
		{
			"pinned", two(func(c *Club) {
				c.Visits = []Visit{{ID: 1, ApiaryID: 5, On: today + 20, Status: Confirmed, Pinned: true}}
			}), today,
			"B1 of H1: hard last time (1 Jun); the chance of a hard opening passes 1 in 5 on 11 Aug; visit set for Wed 30 Jun",
			"Orchard on Wed 30 Jun: one box to open, B1 of H1 by 11 Aug, because the chance of a hard opening passes 1 in 5 then; a person set the day",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := tt.club()
			p := PlanClub(c, tt.today)
			b := &p.Boxes[0]
			if tt.name == "a box below" || tt.name == "out of winter" || strings.HasPrefix(tt.name, "came off") {
				b = &p.Boxes[1]
			}
			if got := tersely(p, ExplainBox(c, p, b).Text()); got != tt.box {
				t.Errorf("box:\n got %s\nwant %s", got, tt.box)
			}
			if got := tersely(p, ExplainVisit(c, p, &p.Visits[0]).Text()); got != tt.visit {
				t.Errorf("visit:\n got %s\nwant %s", got, tt.visit)
			}
		})
	}
}

// TestExplanationsAreOneSentence looks for holes in the sentences of many plans.
func TestExplanationsAreOneSentence(t *testing.T) {
	for seed := range uint64(300) {
		r := newDice(seed)
		c := r.club(r.between(1, 10), testToday)
		if r.chance(0.5) {
			r.trouble(c, testToday)
		}
		p := PlanClub(c, testToday)
		check := func(s string) {
			if strings.Contains(s, "%!") || strings.Contains(s, "explain.") || strings.Contains(s, "closed.") ||
				strings.Contains(s, "  ") || strings.Contains(s, "; ;") || strings.HasSuffix(s, "; ") {
				t.Errorf("seed %d: %q", seed, s)
			}
		}
		for i := range p.Boxes {
			check(tersely(p, ExplainBox(c, p, &p.Boxes[i]).Text()))
		}
		for i := range p.Visits {
			check(tersely(p, ExplainVisit(c, p, &p.Visits[i]).Text()))
		}
	}
}

// tersely says a text of a plan in English, as the command line does.
func tersely(p *Plan, t text.Text) string { return (&text.Speaker{}).Terse(p.Today.Year()).Tell(t) }

// english says a text in English.
func english(t text.Text) string { return (&text.Speaker{}).Tell(t) }

// TestWhyABoxIsOnAList: by when it should be opened, or since when it waits too long;
// the year stands where the month leaves it open.
func TestWhyABoxIsOnAList(t *testing.T) {
	today := date("2026-11-27")
	for _, tt := range []struct {
		due    Date
		reason Reason
		odds   float64
		chance bool
		want   string
	}{
		{today + 20, BecauseOdds, 0.2, true, "Open by Thursday 17 December: its seal is getting hard to break; a 1 in 5 chance that it is hard to open."},
		{today + 20, BecauseOdds, 0.2, false, "Open by Thursday 17 December: its seal is getting hard to break."},
		{today, BecauseLongest, 0.001, true, "Open by Friday 27 November: "},
		{today - 20, BecauseOdds, 0.5, true, "Overdue since 7 November 2026: "},
		{today - 20, BecauseOdds, 0.5, false, "Overdue since 7 November 2026: "},
		{today - 20, BecauseGuess, 0.5, false, "Open by 7 November 2026: "},
		{today + 301, BecauseRequired, 0, false, "Open by 24 September 2027: "},
		{today + 300, BecauseRequired, 0, false, "Open by Thursday 23 September: "},
		{0, BecauseOdds, 0.5, true, "On the list of this visit."},
	} {
		b := VisitBox{Due: tt.due, Reason: tt.reason, Odds: tt.odds}
		got := english(b.Why(today, tt.chance))
		if !strings.HasPrefix(got, tt.want) || strings.Contains(got, "chance") != (tt.chance && tt.due != 0 && tt.odds > 0.02) {
			t.Errorf("due %s because of %s: %q, want %q", tt.due, tt.reason, got, tt.want)
		}
	}
}
