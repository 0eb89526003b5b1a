package simulation

import (
	"math"
	"slices"
)

// Ratio is one comparison of a policy with a frontier, with the interval that
// holds it in 95 of 100 draws of populations. It is NaN where the frontier has
// no value to compare with.
type Ratio struct {
	Value, Low, High float64
	AtMost           bool // no calendar is as good, and Value compares with the best of them
}

// Comparison is one planner against the fixed calendars and against the
// planner that is told the true rates.
type Comparison struct {
	Policy        string
	EqualHours    Ratio // stuck openings against the calendars' at equal hours
	EqualOpenings Ratio // and at equal openings
	HoursForStuck Ratio // hours against the calendars' at equal stuck openings
	TrueRates     Ratio // stuck openings against the told planners' at equal hours
	Thumb         Ratio // and against the rule of thumb's
	Gap           Ratio // how far what was said of openings was from what was found, see promise.gap
	Brier         Ratio // and its Brier score, against saying the same of all openings
	Written       Ratio // the Brier score against what was written down
	Corrected     Ratio // and the same, had the club corrected the odds by its own record
	WrittenGap    Ratio // and how far what was said was from it
	CorrectedGap  Ratio
}

// resamples is how many draws of populations an interval rests on.
const resamples = 1000

// Compare compares the policies that are not told anything, the calendars aside. Means are taken
// over populations first, then compared; intervals come from drawing
// populations again and again (Efron and Tibshirani 1993, "An Introduction to
// the Bootstrap", percentile intervals), every policy on the same ones.
func (r *Results) Compare() []Comparison {
	return withIntervals(len(r.Seeds), r.compare, func(c *Comparison) []*Ratio {
		return []*Ratio{&c.EqualHours, &c.EqualOpenings, &c.HoursForStuck, &c.TrueRates, &c.Thumb, &c.Gap, &c.Brier, &c.Written, &c.Corrected, &c.WrittenGap, &c.CorrectedGap}
	})
}

// withIntervals compares all of n populations, and enters the intervals of the
// ratios from comparing draws of them.
func withIntervals[C any](n int, compare func(populations []int) []C, ratios func(*C) []*Ratio) []C {
	all := make([]int, n)
	for j := range all {
		all[j] = j
	}
	out := compare(all)
	draws := make([][]C, resamples)
	for d := range draws {
		again := make([]int, n)
		for j := range again {
			again[j] = int(dice(0).draw(ofResampling, d, j) * float64(n))
		}
		draws[d] = compare(again)
	}
	for i := range out {
		for k, ratio := range ratios(&out[i]) {
			values := make([]float64, 0, resamples)
			for d := range draws {
				if v := ratios(&draws[d][i])[k].Value; !math.IsNaN(v) {
					values = append(values, v)
				}
			}
			ratio.interval(values)
		}
	}
	return out
}

// interval enters the middle 95 of 100 of values. Where more than one draw in
// twenty has no value there is no interval.
func (r *Ratio) interval(values []float64) {
	r.Low, r.High = math.NaN(), math.NaN()
	if len(values) < resamples*95/100 {
		return
	}
	slices.Sort(values)
	r.Low = values[len(values)*25/1000]
	r.High = values[len(values)*975/1000-1]
}

func (r *Results) compare(populations []int) []Comparison {
	var byHours, byOpenings, told, thumbs frontier
	for i := range r.Policies {
		switch s := r.Mean(i, populations); {
		case r.Policies[i].Calendar > 0:
			byHours = append(byHours, hours(s))
			byOpenings = append(byOpenings, openings(s))
		case r.Policies[i].TrueRates:
			told = append(told, hours(s))
		case r.Policies[i].Thumb > 0:
			thumbs = append(thumbs, hours(s))
		}
	}
	var out []Comparison
	for i := range r.Policies {
		if r.Policies[i].Calendar > 0 || r.Policies[i].TrueRates {
			continue
		}
		s := r.Mean(i, populations)
		said, same := s.said.brier()
		written, sameWritten := s.written.brier()
		corrected, _ := s.corrected.brier()
		rule := thumbs
		if r.Policies[i].Thumb > 0 { // which is the rule itself
			rule = nil
		}
		out = append(out, Comparison{
			Policy:        s.Policy,
			EqualHours:    Ratio{Value: s.Stuck / byHours.stuckAt(s.Hours)},
			EqualOpenings: Ratio{Value: s.Stuck / byOpenings.stuckAt(s.Openings)},
			HoursForStuck: byHours.hoursForStuck(s),
			TrueRates:     Ratio{Value: s.Stuck / told.stuckAt(s.Hours)},
			Thumb:         Ratio{Value: s.Stuck / rule.stuckAt(s.Hours)},
			Gap:           Ratio{Value: s.said.gap()},
			Brier:         Ratio{Value: said / same},
			Written:       Ratio{Value: written / sameWritten},
			Corrected:     Ratio{Value: corrected / sameWritten},
			WrittenGap:    Ratio{Value: s.written.gap()},
			CorrectedGap:  Ratio{Value: s.corrected.gap()},
		})
	}
	return out
}

// hoursForStuck compares hours at equal stuck openings. A policy that leaves
// fewer than any calendar is compared with the one that leaves fewest: hours
// at equal stuck openings would be in a smaller ratio still.
func (f frontier) hoursForStuck(s Score) Ratio {
	fewest := point{stuck: math.Inf(-1)}
	if len(f) > 0 {
		fewest = f[0]
	}
	for _, p := range f {
		if p.stuck < fewest.stuck {
			fewest = p
		}
	}
	if s.Stuck < fewest.stuck {
		return Ratio{Value: s.Hours / fewest.cost, AtMost: true}
	}
	return Ratio{Value: s.Hours / f.costAt(s.Stuck)}
}
