package scheduler

import "math"

// Place is what a season depends on.
type Place struct {
	Latitude   float64 // degrees, north positive, -90 to 90
	ElevationM float64 // metres above sea level
	ShiftDays  int     // moves every stage later (positive) or earlier
}

// Place returns what the season of a depends on.
func (a *Apiary) Place() Place {
	return Place{Latitude: a.Latitude, ElevationM: a.ElevationM, ShiftDays: a.SeasonShiftDays}
}

// Season is the bees' year at one place under one set of rules. It is cheap to
// make, never changes and may be read by many at once; no lookup allocates.
//
// The year is kept as whole days after 1 January at which each stage starts,
// once for common years and once for leap years. Everything else follows in
// closed form, for any date.
type Season struct {
	stages [NumStages]Stage      // the stages that occur, in order from build-up
	starts [2][NumStages]int32   // [common, leap]: days after 1 January of each
	cum    [2][NumStages]float64 // sealing days from the first start to each
	whole  [2]float64            // sealing days of a whole year, see sealingUntil
	rules  [NumStages]StageRule  // indexed by Stage
	n      int                   // how many of stages occur
	reseal int32                 // days before winter without openings
	source SeasonSource
}

// NewSeason works out the season at p under r.
func NewSeason(p Place, r *Rules) *Season {
	s := &Season{rules: r.Stages, reseal: int32(max(r.ResealDays, 0))}
	common := s.draft(p, r, 0)
	leap := s.draft(p, r, 1)
	s.settle(common, leap)
	s.sumPaces()
	return s
}

// Starts returns the days on which the stages start, in order from build-up,
// for the year in which build-up starts. The later ones may fall in the year
// after. A stage that does not occur at the place has the zero Date.
func (s *Season) Starts(year int) [NumStages]Date {
	var out [NumStages]Date
	first, v := newYear(year), variant(year)
	for i := range s.n {
		out[s.stages[i]] = first + Date(s.starts[v][i])
	}
	return out
}

// Stage returns the stage that d lies in.
func (s *Season) Stage(d Date) Stage {
	_, i := s.find(d)
	return s.stages[i]
}

// Pace returns how fast boxes seal on d, in sealing days a day.
func (s *Season) Pace(d Date) float64 { return s.rules[s.Stage(d)].Pace }

// StageSpan returns the first and the last day of the stage that d lies in.
// Where one stage lasts all year, that is the calendar year of d.
func (s *Season) StageSpan(d Date) (first, last Date) {
	year, i := s.find(d)
	return s.start(year, i), s.start(year, i+1) - 1
}

// MayOpen reports whether the rules let boxes be opened on d: its stage is
// open and d is not one of the reseal days before winter.
func (s *Season) MayOpen(d Date) bool {
	year, i := s.find(d)
	return s.rules[s.stages[i]].Open && !s.resealing(d, year, i)
}

// InReseal reports whether d is one of the days before winter on which the
// bees need what is left of the season to glue the hive shut again.
func (s *Season) InReseal(d Date) bool {
	year, i := s.find(d)
	return s.resealing(d, year, i)
}

func (s *Season) resealing(d Date, year, i int) bool {
	if s.n == 1 || s.stages[i] == Winter {
		return false
	}
	for j := i + 1; j <= i+s.n; j++ {
		if s.stages[j%s.n] == Winter {
			return d >= s.start(year, j)-Date(s.reseal)
		}
	}
	return false
}

// Source returns where the dates of s come from.
func (s *Season) Source() SeasonSource { return s.source }

// start returns the day on which the i-th stage of a year's sequence starts;
// i may run on into the next year's.
func (s *Season) start(year, i int) Date {
	year, i = year+i/s.n, i%s.n
	return newYear(year) + Date(s.starts[variant(year)][i])
}

// find returns the year whose sequence d lies in, and the place of its stage
// in that sequence.
func (s *Season) find(d Date) (year, i int) {
	year, day := yearDay(d)
	v := variant(year)
	if day < s.starts[v][0] {
		year--
		v = variant(year)
		day = int32(d - newYear(year))
	}
	i = s.n - 1
	for day < s.starts[v][i] {
		i--
	}
	return year, i
}

// yearDay returns the year of d and the days since its 1 January.
func yearDay(d Date) (year int, day int32) {
	n := int(d) - 1
	year = int(math.Floor(float64(n)/365.2425)) + 1
	for newYear(year) > d {
		year--
	}
	for newYear(year+1) <= d {
		year++
	}
	return year, int32(d - newYear(year))
}

// newYear returns 1 January of a year.
func newYear(year int) Date {
	y := year - 1
	return Date(365*y + floorDiv(y, 4) - floorDiv(y, 100) + floorDiv(y, 400) + 1)
}

// leapsBefore returns how many leap years there are from year 1 up to, not
// including, year; negative before year 1.
func leapsBefore(year int) int {
	y := year - 1
	return floorDiv(y, 4) - floorDiv(y, 100) + floorDiv(y, 400)
}

func floorDiv(a, b int) int {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// variant returns 1 in leap years and 0 in common ones.
func variant(year int) int {
	if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
		return 1
	}
	return 0
}
