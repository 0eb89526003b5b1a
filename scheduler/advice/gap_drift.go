package advice

import (
	"cmp"
	"math"
	"slices"

	"pryday/scheduler"
)

// standsOutAt is in standard errors from no change: 95 % of both sides.
const standsOutAt = 1.96

// GapPoint is one gap of a box at one place, measured on one day.
type GapPoint struct {
	On scheduler.Date
	MM float64
}

// GapTrend is how a gap changes over time.
type GapTrend struct {
	At        scheduler.GapPlace
	Points    []GapPoint // in date order
	MMPerYear float64    // least squares
	ErrorMM   float64    // standard error of MMPerYear, from MeasuringSDMM
	StandsOut bool       // of the measuring error, at 95 %
}

// Trend fits a line to measured gaps. With a known standard deviation s of
// one measurement, the slope's is s / sqrt(sum of (t - mean t)^2).
func Trend(at scheduler.GapPlace, points []GapPoint) GapTrend {
	out := GapTrend{At: at, Points: slices.Clone(points)}
	slices.SortStableFunc(out.Points, func(a, b GapPoint) int { return cmp.Compare(a.On, b.On) })
	n := float64(len(points))
	var meanT, meanMM float64
	for _, p := range points {
		meanT += float64(p.On) / 365.25 / n
		meanMM += p.MM / n
	}
	var tt, tm float64
	for _, p := range points {
		t := float64(p.On)/365.25 - meanT
		tt += t * t
		tm += t * (p.MM - meanMM)
	}
	if tt < 1e-9 {
		return out // one day says nothing about change
	}
	out.MMPerYear, out.ErrorMM = tm/tt, MeasuringSDMM/math.Sqrt(tt)
	out.StandsOut = math.Abs(out.MMPerYear) > standsOutAt*out.ErrorMM
	return out
}

// GapTrends returns the trends of a box's measured gaps, by place, since its
// last repair. Answers of pegs have no length and are left out.
func GapTrends(b *scheduler.Box, until scheduler.Date) []GapTrend {
	var since scheduler.Date
	for _, d := range b.Repaired {
		if d <= until {
			since = max(since, d)
		}
	}
	points := map[scheduler.GapPlace][]GapPoint{}
	for _, o := range scheduler.Effective(b.Openings) {
		if o.On < since || o.On > until {
			continue
		}
		for _, g := range o.Gaps {
			if g.MM > 0 {
				points[g.At] = append(points[g.At], GapPoint{o.On, g.MM})
			}
		}
	}
	var out []GapTrend
	for _, at := range scheduler.GapPlaces {
		if len(points[at]) > 1 {
			out = append(out, Trend(at, points[at]))
		}
	}
	return out
}
