package scheduler

// Place is what a season depends on.
type Place struct {
	Latitude   float64 // degrees, north positive, -90 to 90
	ElevationM float64 // metres above sea level
	ShiftDays  int     // moves every stage later (positive) or earlier
	Region     Region  // whose stage dates hold there; none is Continental
}

// Place returns what the season of a depends on.
func (a *Apiary) Place() Place {
	return Place{Latitude: a.Latitude, ElevationM: a.ElevationM, ShiftDays: a.SeasonShiftDays, Region: a.SeasonRegion()}
}

// Season is the bees' year at one place under one set of rules. It is cheap to
// make, never changes and may be read by many at once; no lookup allocates.
//
// It keeps the days after 1 January on which stages start, once for each kind
// of year (see yearKind). Everything else follows from them in closed form,
// for any date.
type Season struct {
	stages [NumStages]Stage              // the stages that occur, in order from build-up
	n      int                           // how many of them
	starts [yearKinds][NumStages]int32   // days after 1 January, in the order of stages
	cum    [yearKinds][NumStages]float64 // sealing days from the first start to each
	whole  [yearKinds]float64            // see sealingUntilYear
	rules  [NumStages]StageRule          // indexed by Stage
	reseal Date                          // days before winter without openings
	source SeasonSource
}

// NewSeason works out the season at p under r.
func NewSeason(p Place, r *Rules) *Season {
	s := &Season{rules: r.Stages, reseal: Date(max(r.ResealDays, 0))}
	s.fixStarts(p, r)
	s.sumPaces()
	return s
}

// Starts returns the days on which the stages start, in order from build-up,
// for the year in which build-up starts; the later ones may fall in the year
// after. A stage that does not occur at the place has the zero Date.
func (s *Season) Starts(year int) [NumStages]Date {
	var out [NumStages]Date
	for i := range s.n {
		out[s.stages[i]] = s.start(year, i)
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

// InReseal reports whether d is one of the days before winter in which the
// bees need what is left of the season to glue the hive shut again.
func (s *Season) InReseal(d Date) bool {
	year, i := s.find(d)
	return s.resealing(d, year, i)
}

func (s *Season) resealing(d Date, year, i int) bool {
	last := s.n - 1
	return last > 0 && s.stages[last] == Winter && i < last && d >= s.start(year, last)-s.reseal
}

// Source returns where the dates of s come from.
func (s *Season) Source() SeasonSource { return s.source }

// start returns the day on which the i-th stage of a year's sequence starts;
// i = n is the first stage of the next year's.
func (s *Season) start(year, i int) Date {
	if i == s.n {
		year, i = year+1, 0
	}
	return newYear(year) + Date(s.starts[yearKind(year)][i])
}

// find returns the year whose sequence d lies in, and the place of its stage
// in that sequence.
func (s *Season) find(d Date) (year, i int) {
	year = yearOf(d)
	day := int32(d - newYear(year))
	kind := yearKind(year)
	if day < s.starts[kind][0] {
		year--
		day = int32(d - newYear(year))
		kind = yearKind(year)
	}
	i = s.n - 1
	for day < s.starts[kind][i] {
		i--
	}
	return year, i
}
