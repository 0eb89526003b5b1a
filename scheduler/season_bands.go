package scheduler

import "math"

// Tropic is the latitude in degrees inside which seasons follow rain.
const Tropic = 23.44

const (
	halfYear      = 182.5     // days, added south of the equator
	daysPerMetre  = 2.2 / 100 // Vitasse et al. 2017, PNAS 115(5): spring comes 22 days per 1000 m later
	daysPerDegree = 4.0       // Hopkins 1918, the bioclimatic law: days per degree of latitude
)

// poleward says how the start of a stage moves up a mountain and, between a
// club's home and its other places, towards the pole: spring comes later and
// the end of the year earlier. For the end of the year that is our assumption.
var poleward = [NumStages]float64{BuildUp: 1, Flow: 1, LateSummer: 0, Autumn: -1, Winter: -1}

// latitudeBand is a range of latitude with its own stage dates.
type latitudeBand struct {
	centre float64 // degrees
	starts [NumStages]MonthDay
}

// bands are the stage starts at sea level, northern hemisphere. They are a
// guess that mixes mild coasts and cold interiors.
var bands = [...]latitudeBand{
	{25.5, [NumStages]MonthDay{{1, 25}, {3, 10}, {6, 20}, {11, 15}, {12, 20}}},
	{30.5, [NumStages]MonthDay{{2, 12}, {4, 5}, {7, 5}, {11, 1}, {12, 5}}},
	{35.5, [NumStages]MonthDay{{3, 5}, {4, 25}, {7, 15}, {10, 15}, {11, 20}}},
	{40.5, [NumStages]MonthDay{{3, 28}, {5, 15}, {7, 25}, {9, 28}, {11, 5}}},
	{45.5, [NumStages]MonthDay{{4, 18}, {6, 5}, {8, 1}, {9, 20}, {10, 25}}},
	{50.5, [NumStages]MonthDay{{4, 15}, {6, 8}, {8, 5}, {9, 20}, {10, 25}}},
	{55.5, [NumStages]MonthDay{{4, 18}, {6, 15}, {8, 5}, {9, 12}, {10, 15}}},
	{60.5, [NumStages]MonthDay{{4, 22}, {6, 22}, {8, 8}, {9, 5}, {10, 5}}},
	{65.0, [NumStages]MonthDay{{4, 28}, {6, 25}, {8, 8}, {8, 28}, {9, 20}}},
}

// bandStarts returns the table's starts at a place, in days after 1 January of
// year, interpolated between the two centres around its latitude.
func bandStarts(p Place, year int) [NumStages]float64 {
	lat := math.Abs(p.Latitude)
	i := 0
	for i < len(bands)-2 && lat > bands[i+1].centre {
		i++
	}
	low, high := &bands[i], &bands[i+1]
	w := math.Max(0, math.Min(1, (lat-low.centre)/(high.centre-low.centre)))
	var out [NumStages]float64
	for k := range out {
		a, b := low.starts[k].dayOf(year), high.starts[k].dayOf(year)
		out[k] = a + w*(b-a) + poleward[k]*p.ElevationM*daysPerMetre
		if p.Latitude < 0 {
			out[k] += halfYear
		}
	}
	return out
}

// dayOf returns the days after 1 January of year at which m falls.
func (m MonthDay) dayOf(year int) float64 {
	day := m.Day - 1
	if m.Month >= 1 && m.Month <= 12 {
		day += daysBefore[m.Month-1]
	}
	if m.Month > 2 && isLeap(year) {
		day++
	}
	if m.Month == 2 && m.Day == 29 && !isLeap(year) {
		day--
	}
	return float64(day)
}

// daysBefore are the days of a common year before each month.
var daysBefore = [12]int{0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334}
