package scheduler

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestBoxesAboveCameOff replays a stack of three, the middle one opened.
func TestBoxesAboveCameOff(t *testing.T) {
	setUp, day, today := NewDate(2025, 4, 1), NewDate(2025, 7, 1), NewDate(2025, 8, 1)
	own := func(o Opening) []Opening { o.On = day; return []Opening{o} }
	for _, tt := range []struct {
		name          string
		middle, upper []Opening
		from          Date
		left          float64 // of the upper box's seal on the day
		lastHard      Difficulty
		shut          Date
	}{
		{"it came off", own(Opening{Joint: Light, Scraped: ScrapedAll}), nil, day, 0.2, NotTried, 0},
		{"it has a record of its own", own(Opening{Joint: Light}), own(Opening{Joint: Firm, Scraped: ScrapedAll}), day, 0, Firm, 0},
		{"its record says that it stayed shut", own(Opening{Joint: Light}), own(Opening{Joint: Stuck, LeftShut: true}), setUp, 1, Stuck, day},
		{"the lower one stayed shut", own(Opening{Joint: Stuck, LeftShut: true}), nil, setUp, 1, NotTried, 0},
		{"nothing was opened", nil, nil, setUp, 1, NotTried, 0},
		{"it had been left shut before", own(Opening{Joint: Light}), []Opening{{On: day - 9, Joint: Stuck, LeftShut: true}}, day, 0.2, NotTried, 0},
		{"what was found before stays", own(Opening{Joint: Light}), []Opening{{On: day - 9, Joint: Hard, Scraped: ScrapedAll}}, day, 0.2, Hard, 0},
		{"twice on one day", append(own(Opening{Joint: Light}), own(Opening{Joint: Loose})...), nil, day, 0.2, NotTried, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := twoHives([]Box{
				{ID: 1, SetUpOn: setUp},
				{ID: 2, SetUpOn: setUp, Openings: tt.middle},
				{ID: 3, SetUpOn: setUp, Openings: tt.upper},
			}, []Box{{ID: 4, SetUpOn: setUp}})
			s := NewSeason(c.Apiaries[0].Place(), &c.Rules)
			rates := Replay(c, today)
			upper, _ := rates.Of(3)
			before := s.SealingDays(setUp, day)
			if last := len(tt.upper) - 1; last >= 0 && tt.upper[last].On < day && !tt.upper[last].LeftShut {
				before = s.SealingDays(tt.upper[last].On, day)
			}
			want := tt.left*before + s.SealingDays(day, today)
			if got := upper.Age(s, today); math.Abs(got-want) > 1e-9 || upper.From != tt.from {
				t.Errorf("%.2f sealing days, waits from %v; want %.2f from %v", got, upper.From, want, tt.from)
			}
			if upper.LastHard != tt.lastHard || upper.ShutOn != tt.shut {
				t.Errorf("last %v, shut on %v", upper.LastHard, upper.ShutOn)
			}
			for _, id := range []int64{1, 4} {
				if rate, _ := rates.Of(id); rate.From != setUp || rate.maybe.n < 2 && math.Abs(rate.Age(s, today)-s.SealingDays(setUp, today)) > 1e-9 {
					t.Errorf("box %d, below or on another hive, came off", id)
				}
			}
		})
	}
}

// TestWhatCameOffForTwoCameOffOnce: whoever opens two boxes below lifts the upper one
// off once, and its seal keeps what it keeps for one of them.
func TestWhatCameOffForTwoCameOffOnce(t *testing.T) {
	setUp, day, today := NewDate(2025, 4, 1), NewDate(2025, 7, 1), NewDate(2025, 8, 1)
	opened := []Opening{{On: day, Joint: Light, Scraped: ScrapedAll}}
	c := twoHives([]Box{{ID: 1, SetUpOn: setUp, Openings: opened}, {ID: 2, SetUpOn: setUp, Openings: opened}, {ID: 3, SetUpOn: setUp}}, nil)
	s := NewSeason(c.Apiaries[0].Place(), &c.Rules)
	upper, _ := Replay(c, today).Of(3)
	if got, want := upper.Age(s, today), 0.2*s.SealingDays(setUp, day)+s.SealingDays(day, today); math.Abs(got-want) > 1e-9 {
		t.Errorf("%.2f sealing days, want %.2f", got, want)
	}
}

// TestWhatCameOffTeachesNoRate: the opening of one box says nothing of the rates
// of those above it but what it says of the whole hive. Without a grade of its
// own, a box that came off has the rate that it has where it stands below.
func TestWhatCameOffTeachesNoRate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		setUp := historyFrom
		o := Opening{On: setUp + 30 + Date(spread(t, "opened", 300)), Joint: Difficulty(rapid.IntRange(0, 4).Draw(t, "joint")), Scraped: ScrapedAll}
		until := o.On + Date(spread(t, "until", 300))
		above := Replay(twoHives([]Box{{ID: 1, SetUpOn: setUp, Openings: []Opening{o}}, {ID: 2, SetUpOn: setUp}}, nil), until)
		below := Replay(twoHives([]Box{{ID: 2, SetUpOn: setUp}, {ID: 1, SetUpOn: setUp, Openings: []Opening{o}}}, nil), until)
		up, _ := above.Of(2)
		down, _ := below.Of(2)
		if math.Abs(up.Mean-down.Mean) > 1e-9 || math.Abs(up.Variance-down.Variance) > 1e-9 {
			t.Fatalf("rate %g (%g) above, %g (%g) below", up.Mean, up.Variance, down.Mean, down.Variance)
		}
		rules := DefaultRules()
		s := NewSeason(Place{Latitude: 48}, &rules)
		if up.From != o.On || down.From != setUp || up.Age(s, until) > down.Age(s, until) {
			t.Fatalf("from %v with %g above, from %v with %g below", up.From, up.Age(s, until), down.From, down.Age(s, until))
		}
	})
}
