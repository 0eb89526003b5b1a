package scheduler

import "math"

// Tropic is the latitude in degrees inside which seasons follow rain.
const Tropic = 23.44

const (
	halfYear      = 182.5     // days between the seasons of the two hemispheres
	daysPerMetre  = 2.2 / 100 // Vitasse et al. 2017, PNAS 115(5): spring comes 22 days per 1000 m later
	daysPerDegree = 4.0       // Hopkins 1918, the bioclimatic law: days per degree of latitude
)

// poleward says how the start of a stage moves up a mountain and, between a
// club's home and its other places, towards the pole: spring comes later and
// the end of the year earlier. For the end of the year that is our assumption.
var poleward = [NumStages]float64{BuildUp: 1, Flow: 1, LateSummer: 0, Autumn: -1, Winter: -1}

// bandStarts returns the starts that the table of the region of p has for it,
// in days after 1 January of year, interpolated between the two centres around
// its latitude. Where the place lies in the other hemisphere than the table's,
// half a year lies between.
func bandStarts(p Place, year int) [NumStages]float64 {
	t := tableOf(p.Region)
	lat := math.Abs(p.Latitude)
	i := 0
	for i < len(t.bands)-2 && lat > t.bands[i+1].centre {
		i++
	}
	low, high := &t.bands[i], &t.bands[i+1]
	w := math.Max(0, math.Min(1, (lat-low.centre)/(high.centre-low.centre)))
	var out [NumStages]float64
	for k := range out {
		a, b := t.day(low.starts[k], year), t.day(high.starts[k], year)
		out[k] = a + w*(b-a) + poleward[k]*p.ElevationM*daysPerMetre
		switch south := p.Latitude < 0; {
		case south && !t.south:
			out[k] += halfYear
		case t.south && !south:
			out[k] -= halfYear
		}
	}
	return out
}

// day returns the days after 1 January of year at which m falls in the bees'
// year that begins in it: in the south that runs on into the next.
func (t *bandTable) day(m MonthDay, year int) float64 {
	if t.south && m.Month < 7 {
		return m.dayOf(year+1) + float64(newYear(year+1)-newYear(year))
	}
	return m.dayOf(year)
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
