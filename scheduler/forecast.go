package scheduler

import "slices"

// Forecast is what was said of an opening before it was made: worked out from
// the records as they stood before anything was written down of its day, and
// kept as it was whatever is learned later.
type Forecast struct {
	MadeOn     Date    // the day on which the opening was written down
	Hard       float64 // odds of a hard opening on its day as they were said, 0 to 1
	Stuck      float64 // of a stuck one
	ModelHard  float64 // the same before the club's recalibration
	ModelStuck float64
	Openings   int // of the box that were on record
	Rules      int // the version of the rules that held; 0 when not known

	Recalibrated Date // when the recalibration that held was made; zero for none
}

// LateDays is how many days after an opening it can still be written down with
// what was said before it. Of an old notebook's openings nothing was said when
// they were made.
const LateDays = 30

// Foretell returns what was said of the openings of boxes that are about to be
// written down, by their ids, from c as it stood before them. What was written down
// of their day does not count: boxes of a hive are opened one after the other.
//
// Nothing was said of an opening that is older than LateDays or than another of its
// box, of a box on no hive, of one set up or opened on the same day, and of what only
// corrects another opening.
func Foretell(c *Club, fresh map[int64][]Opening, today Date) map[string]Forecast {
	out := map[string]Forecast{}
	for _, day := range daysOf(fresh, today) {
		rates := Replay(c, day-1)
		for i := range c.Apiaries {
			a, n := &c.Apiaries[i], 0
			var season *Season
			for h := range a.Hives {
				for b := range a.Hives[h].Boxes {
					box := &a.Hives[h].Boxes[b]
					rate := &rates[n]
					n++
					o := foretold(box, fresh[box.ID], day)
					if o == nil || rate.HiveID == 0 {
						continue
					}
					if season == nil {
						season = NewSeason(a.Place(), &c.Rules)
					}
					out[o.ID] = forecast(c, rate, season, day, today)
				}
			}
			rates = rates[n:]
		}
	}
	return out
}

func forecast(c *Club, rate *BoxRate, season *Season, day, today Date) Forecast {
	f := Forecast{MadeOn: today, Openings: rate.Openings}
	f.ModelHard, f.ModelStuck = rate.HardAndStuck(season, day)
	f.Hard, f.Stuck = c.Recalibration.Odds(f.ModelHard, f.ModelStuck)
	f.Recalibrated = c.Recalibration.MadeOn
	return f
}

// daysOf returns the days of openings that are not too old, each once.
func daysOf(fresh map[int64][]Opening, today Date) []Date {
	var days []Date
	for _, all := range fresh {
		for i := range all {
			if on := all[i].On; all[i].Supersedes == "" && on <= today && on >= today-LateDays && !slices.Contains(days, on) {
				days = append(days, on)
			}
		}
	}
	slices.Sort(days)
	return days
}

// foretold returns the first of the openings of a box that are about to be written
// down, where that is of a day and none of the same day or later is on record.
func foretold(box *Box, fresh []Opening, day Date) *Opening {
	var first *Opening
	for i := range fresh {
		if o := &fresh[i]; o.Supersedes == "" && (first == nil || o.On < first.On) {
			first = o
		}
	}
	if first == nil || first.On != day || first.Difficulty() < Loose {
		return nil
	}
	for _, i := range effective(box.Openings, nil) {
		if box.Openings[i].On >= day {
			return nil
		}
	}
	return first
}

// Outcome is what was said of an opening, and how hard it was found.
type Outcome struct {
	Forecast
	On    Date
	Found Difficulty
}

// Outcomes returns the openings of a club that count and of which something was
// said before, by day.
func Outcomes(c *Club) []Outcome {
	var out []Outcome
	add := func(b *Box) {
		for _, i := range effective(b.Openings, nil) {
			if o := &b.Openings[i]; o.Said != nil {
				out = append(out, Outcome{*o.Said, o.On, o.Difficulty()})
			}
		}
	}
	for i := range c.Apiaries {
		for j := range c.Apiaries[i].Hives {
			for k := range c.Apiaries[i].Hives[j].Boxes {
				add(&c.Apiaries[i].Hives[j].Boxes[k])
			}
		}
	}
	for i := range c.Spare {
		add(&c.Spare[i])
	}
	slices.SortStableFunc(out, func(a, b Outcome) int { return int(a.On - b.On) })
	return out
}
