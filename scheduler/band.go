package scheduler

import "math"

// Tropic is the latitude in degrees inside which seasons follow rain.
const Tropic = 23.44

const (
	minStageDays     = 14
	halfYear         = 182.5     // south of the equator
	daysPerMetre     = 2.2 / 100 // Vitasse et al. 2017, PNAS 115(5): 22 days per 1000 m
	daysPerDegree    = 4.0       // Hopkins 1918: four days per degree of latitude
	yearDays         = 365.0
	lowestElevation  = -430.0
	highestElevation = 9000.0
)

// towards says how a stage's start moves to higher or more poleward places:
// spring comes later, the end of the year earlier.
var towards = [NumStages]float64{BuildUp: 1, Flow: 1, LateSummer: 0, Autumn: -1, Winter: -1}

// bands are the stage starts at sea level, northern hemisphere, as days after
// 1 January of a common year, by the centre of the band in degrees. They are
// a guess that mixes mild coasts and cold interiors.
var bands = [...]struct {
	centre float64
	starts [NumStages]float64
}{
	{25.5, [NumStages]float64{24, 68, 170, 318, 353}},
	{30.5, [NumStages]float64{42, 94, 185, 304, 338}},
	{35.5, [NumStages]float64{63, 114, 195, 287, 323}},
	{40.5, [NumStages]float64{86, 134, 205, 270, 308}},
	{45.5, [NumStages]float64{107, 155, 212, 262, 297}},
	{50.5, [NumStages]float64{104, 158, 216, 262, 297}},
	{55.5, [NumStages]float64{107, 165, 216, 254, 287}},
	{60.5, [NumStages]float64{111, 172, 219, 247, 277}},
	{65.0, [NumStages]float64{117, 175, 219, 239, 262}},
}

// SeasonFrom says what the dates of a season rest on.
type SeasonFrom string

// What the dates of a season can rest on.
const (
	FromBands    SeasonFrom = "bands"     // the table of bands of latitude
	FromOwnDates SeasonFrom = "own-dates" // the club's own dates, at least for some stages
	FromTropics  SeasonFrom = "tropics"   // one stage all year: seasons follow rain there
)

// SeasonSource says where the dates of a season come from.
type SeasonSource struct {
	From      SeasonFrom
	Own       [NumStages]bool // stages whose start is the club's own
	ShiftDays int             // the apiary's own shift, part of every date
	South     bool            // half a year was added
	Moved     [NumStages]bool // starts that moved so that a stage keeps its 14 days
}

// draft works out when stages start, in days after 1 January, before stages
// get their least length and days become whole. A stage that does not occur
// is NaN. leap is 1 to do so for leap years.
func (s *Season) draft(p Place, r *Rules, leap int) [NumStages]float64 {
	var out [NumStages]float64
	lat := math.Min(math.Abs(p.Latitude), 90)
	elevation := math.Max(lowestElevation, math.Min(p.ElevationM, highestElevation))
	south := p.Latitude < 0
	s.source.ShiftDays = p.ShiftDays
	tropics := !(lat >= Tropic)
	if tropics {
		s.source.From = FromTropics
		for i := range out {
			out[i] = math.NaN()
		}
	} else {
		s.source.From, s.source.South = FromBands, south
		out = bandStarts(lat, leap)
		for i := range out {
			out[i] += towards[i] * elevation * daysPerMetre
			if south {
				out[i] += halfYear
			}
		}
	}
	own := ownStarts(p, elevation, r, leap)
	placeOwn(&out, own)
	for i := range own {
		if !math.IsNaN(own[i]) {
			s.source.Own[i] = true
			s.source.From = FromOwnDates
		}
	}
	if s.source.From == FromTropics {
		out[Flow] = 0
		return out
	}
	for i := range out {
		out[i] += float64(p.ShiftDays)
	}
	return out
}

// bandStarts interpolates the table at a latitude north.
func bandStarts(lat float64, leap int) [NumStages]float64 {
	last := len(bands) - 1
	i := 0
	for i < last && lat > bands[i+1].centre {
		i++
	}
	if i == last {
		i--
	}
	w := (lat - bands[i].centre) / (bands[i+1].centre - bands[i].centre)
	w = math.Max(0, math.Min(1, w))
	var out [NumStages]float64
	for k := range out {
		a := leapDay(bands[i].starts[k], leap)
		b := leapDay(bands[i+1].starts[k], leap)
		out[k] = a + w*(b-a)
	}
	return out
}

// leapDay moves a day of a common year behind 29 February.
func leapDay(day float64, leap int) float64 {
	if leap == 1 && day >= 59 {
		return day + 1
	}
	return day
}

// ownStarts returns the club's own dates at p, NaN for stages without one.
func ownStarts(p Place, elevation float64, r *Rules, leap int) [NumStages]float64 {
	var out [NumStages]float64
	for i := range out {
		out[i] = math.NaN()
		m := r.Stages[i].Starts
		if m.IsZero() {
			continue
		}
		year := 2027
		if leap == 1 {
			year = 2028
		}
		out[i] = float64(m.In(year) - newYear(year))
		if h := r.Home; h != nil {
			degrees := math.Abs(p.Latitude) - math.Abs(h.Latitude)
			out[i] += towards[i] * (degrees*daysPerDegree + (elevation-h.ElevationM)*daysPerMetre)
			if (p.Latitude < 0) != (h.Latitude < 0) {
				out[i] += halfYear
			}
		}
	}
	return out
}

// placeOwn puts the club's own dates over the table's. Each is laid into the
// year in which it follows the one before it.
func placeOwn(starts *[NumStages]float64, own [NumStages]float64) {
	prev := math.NaN()
	for i, o := range own {
		switch {
		case math.IsNaN(o):
			continue
		case !math.IsNaN(prev):
			for o <= prev {
				o += yearDays
			}
		case !math.IsNaN(starts[i]) && i > 0:
			o += yearDays * math.Round((starts[i]-o)/yearDays)
		}
		starts[i], prev = o, o
	}
}

// settle gives every stage its least length and makes days whole.
func (s *Season) settle(common, leap [NumStages]float64) {
	for i, v := range common {
		if !math.IsNaN(v) {
			s.stages[s.n] = Stage(i)
			s.n++
		}
	}
	years := math.Floor(common[s.stages[0]] / yearDays)
	if years != 0 {
		leap = common // the leap day lies in another year than build-up
	}
	for v, draft := range [2][NumStages]float64{common, leap} {
		var day [NumStages]float64
		for i := range s.n {
			day[i] = draft[s.stages[i]] - years*yearDays
			if i > 0 && day[i] < day[i-1]+minStageDays {
				day[i] = day[i-1] + minStageDays
				s.source.Moved[s.stages[i]] = true
			}
		}
		limit := day[0] + yearDays - 1
		for i := s.n - 1; i > 0; i-- {
			limit -= minStageDays
			day[i] = math.Min(day[i], limit)
		}
		for i := range s.n {
			s.starts[v][i] = int32(math.Floor(day[i] + 0.5))
		}
	}
}
