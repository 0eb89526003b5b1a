package scheduler

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// recordsEnd is the last day of which anything is on record.
func recordsEnd(c *Club) Date {
	end := historyUntil + 30
	for _, b := range everyBox(c) {
		for _, p := range b.Places {
			end = max(end, p.From)
		}
	}
	return end
}

// TestAnOutlookHoldsOnLaterDays: while nothing is recorded, what was worked out on one day
// gives the very numbers of a plan that is made anew, to the last bit.
func TestAnOutlookHoldsOnLaterDays(t *testing.T) {
	doubted, barren, corrected := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		c := drawHistory(t)
		if rapid.Bool().Draw(t, "corrected") {
			c.Recalibration = Recalibration{Openings: 300, Hard: Curve{0.3, 1.2}, Stuck: Curve{-0.2, 0.9}}
			corrected++
		}
		first := recordsEnd(c) + Date(rapid.IntRange(0, 200).Draw(t, "days on"))
		if rapid.IntRange(0, 2).Draw(t, "died") == 0 {
			c.Apiaries[0].Hives[0].Events = []ColonyEvent{{What: Died, On: first - Date(rapid.IntRange(0, 90).Draw(t, "dead for"))}}
			barren++
		}
		later := first + Date(rapid.IntRange(1, 300).Draw(t, "days later"))
		forgotten := slices.ContainsFunc(c.Visits, func(v Visit) bool { return v.On >= first-rememberedDays && v.On < later-rememberedDays })
		was, now := PlanClub(c, first), PlanClub(c, later)
		rates := Replay(c, later)
		for i := range was.Boxes {
			s, fresh := was.Boxes[i], now.Boxes[i]
			if s.Outlook != fresh.Outlook {
				if !forgotten {
					t.Fatalf("box %d: %+v on %s, and %+v on %s", s.BoxID, s.Outlook, first, fresh.Outlook, later)
				}
				continue
			}
			ages := s.Outlook.Ages()
			doubted += len(ages)
			s.Outlook.SetAges(nil)
			s.Outlook.SetAges(ages)
			season := NewSeason(c.Apiary(s.ApiaryID).Place(), &c.Rules)
			s.Due, s.Reason = fresh.Due, fresh.Reason
			s.OnDay(season, c.Recalibration, later)
			if s.SealingDays != fresh.SealingDays || s.RateMean != fresh.RateMean || s.RateVariance != fresh.RateVariance ||
				s.Odds != fresh.Odds || s.Stuck != fresh.Stuck || s.Overdue != fresh.Overdue || s.Outlook != fresh.Outlook {
				t.Fatalf("carried from %s:\n%+v\nanew on %s:\n%+v", first, s, later, fresh)
			}
			r, ok := rates.Of(s.BoxID)
			hard, stuck := c.Recalibration.Odds(r.HardAndStuck(season, later))
			if !ok || s.SealingDays != r.Age(season, later) || s.RateMean != r.Mean || s.RateVariance != r.VarianceOn(later) || s.Odds != hard || s.Stuck != stuck {
				t.Fatalf("carried from %s: %+v, by the records %+v with odds %v and %v", first, s, r, hard, stuck)
			}
		}
	})
	if doubted == 0 || barren == 0 || corrected == 0 {
		t.Errorf("%d ages in doubt, %d hives without bees, %d clubs with corrected odds were tried", doubted, barren, corrected)
	}
}

// TestOverdueOfADay: a box is overdue from the day after its due day on, and a guess
// makes none so.
func TestOverdueOfADay(t *testing.T) {
	rules := DefaultRules()
	season := NewSeason(Place{Latitude: 48}, &rules)
	day := NewDate(2027, 5, 1)
	for _, tt := range []struct {
		due    Date
		reason Reason
		want   bool
	}{{day, BecauseOdds, false}, {day - 1, BecauseOdds, true}, {day - 1, BecauseGuess, false}, {0, "", false}} {
		s := BoxState{Due: tt.due, Reason: tt.reason, Overdue: !tt.want}
		if s.OnDay(season, Recalibration{}, day); s.Overdue != tt.want {
			t.Errorf("due %s for %q: overdue %t on %s", tt.due, tt.reason, s.Overdue, day)
		}
	}
}
