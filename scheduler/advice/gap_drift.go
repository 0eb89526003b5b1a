package advice

import (
	"cmp"
	"math"
	"slices"

	"pryday/scheduler"
)

// A drift is news only once it was measured on so many days, over so long:
// wood swells and shrinks with the seasons of a year.
const (
	driftDays = 3
	driftSpan = 365 // days from the first to the last
)

// standsOutAt is in standard errors from no change: 95 % of both sides.
const standsOutAt = 1.96

// studentsT has the same for a standard error that is itself estimated from the
// scatter around the line, by degrees of freedom from 1; beyond the last it is
// a little too wide (Student's t distribution, any table of it).
var studentsT = [...]float64{12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228}

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
	WithinMM  float64    // half of the 95 % interval of MMPerYear
	StandsOut bool       // measured often and long enough, and the interval leaves out zero
}

// Trend fits a line to measured gaps. Its interval is the wider of two: that of
// the measuring error alone, and that of the scatter around the line, which is
// greater where another frame or corner was measured each time.
func Trend(at scheduler.GapPlace, points []GapPoint) GapTrend {
	out := GapTrend{At: at, Points: slices.Clone(points)}
	slices.SortStableFunc(out.Points, func(a, b GapPoint) int { return cmp.Compare(a.On, b.On) })
	n := float64(len(points))
	var meanT, meanMM float64
	for _, p := range points {
		meanT += years(p.On) / n
		meanMM += p.MM / n
	}
	var tt, tm, mm float64
	for _, p := range points {
		t := years(p.On) - meanT
		tt += t * t
		tm += t * (p.MM - meanMM)
		mm += (p.MM - meanMM) * (p.MM - meanMM)
	}
	if tt < 1e-9 {
		return out // one day says nothing about change
	}
	out.MMPerYear, out.WithinMM = tm/tt, standsOutAt*MeasuringSDMM/math.Sqrt(tt)
	if free := len(points) - 2; free > 0 {
		scatter := math.Sqrt(max(mm-tm*tm/tt, 0) / float64(free))
		out.WithinMM = max(out.WithinMM, studentsT[min(free, len(studentsT))-1]*scatter/math.Sqrt(tt))
	}
	out.StandsOut = longEnough(out.Points) && math.Abs(out.MMPerYear) > out.WithinMM
	return out
}

func years(d scheduler.Date) float64 { return float64(d) / 365.25 }

// longEnough reports whether points in date order are enough to speak of a drift.
func longEnough(points []GapPoint) bool {
	days := 1
	for i := range points[1:] {
		if points[i+1].On != points[i].On {
			days++
		}
	}
	return days >= driftDays && points[len(points)-1].On-points[0].On >= driftSpan
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
