package simulation

import (
	"math"

	"pryday/scheduler"
)

// weather is the bees' weather at one place of the imperfect world: how much a
// colony of average gluing gathers from a day to another, and which days are
// wet. A year at 45 N amounts to about 1.
type weather struct {
	dice     dice
	place    int
	latitude float64
	first    scheduler.Date
	glued    []float64 // from first to each day
	warm     []float64 // mean temperature of each day in C; of those in the tropics, of the year
	wet      float64
	wait     int
}

// yearAt45 is the sum of gathering of an average year at 45 N and sea level; a
// test holds it.
const yearAt45 = 168.0

// newWeather works out the days from first to last. Temperatures are a cosine
// over the year with warm and cold weeks on top; mean and swing by latitude are
// read off climate maps from memory, and a place is 6.5 C colder per 1000 m
// (ISO 2533, standard atmosphere).
func newWeather(d dice, a *Imperfect, r *Region, place int, latitude, elevationM float64, first, last scheduler.Date) *weather {
	w := &weather{dice: d, place: place, latitude: latitude, first: first, wet: a.WetShare, wait: a.MaxWait}
	north := math.Abs(latitude)
	mean := meanC.at(north) - 6.5*elevationM/1000
	swing := swingC.at(north) * (1 - r.Maritime)
	shift := a.PlaceShiftSD * d.normal(forPlace, place, 0)
	plenty := a.PlacePlentySD * d.normal(forPlace, place, 1)
	w.glued = make([]float64, last-first+2)
	w.warm = make([]float64, last-first+1)
	for on := first; on <= last; on++ {
		year, into := localDay(latitude, on)
		into -= shift + a.YearShiftSD*d.normal(forYear, year, 0)
		late := ramp(into, 130, 230) // gathering turns from comb to propolis with the summer
		few := ramp(into, 260, 330)  // and there are fewer bees to it in autumn
		rich := plenty + a.YearPlentySD*d.normal(forYear, year, 1) + late*a.LatePlentySD*d.normal(forYear, year, 2)
		gather, warm := 0.0, mean
		if tropical(latitude) {
			gather = 0.2 + 0.6*rains(latitude, into-30)
		} else {
			spell := 2 * d.normal(ofWeeks, place, int(on)/7)
			warm = mean + swing*math.Cos(2*math.Pi*(into-205)/365.25) + spell
			gather = ramp(warm, 8, 18) * (0.5 + late - few)
		}
		if late > 0 && d.draw(ofDrought, year) < a.DroughtShare {
			gather *= 1 - late*(1-a.DroughtLeaves)
		}
		k := on - first
		w.warm[k] = warm
		w.glued[k+1] = w.glued[k] + (idleDay+gather*math.Exp(rich))/yearAt45
	}
	return w
}

// byLatitude is a curve of straight lines between latitudes, from the equator on.
type byLatitude [][2]float64

// Mean and swing of a year's temperatures at sea level in C.
var (
	meanC  = byLatitude{{0, 26}, {15, 26}, {32, 19}, {40, 13}, {45, 10}, {50, 9}, {56, 7}, {62, 4}, {70, 0}}
	swingC = byLatitude{{0, 1}, {15, 3}, {32, 10}, {40, 12.5}, {45, 12.5}, {50, 10}, {56, 9}, {62, 11}, {70, 12}}
)

func (c byLatitude) at(latitude float64) float64 {
	for i := 1; i < len(c); i++ {
		if a, b := c[i-1], c[i]; latitude < b[0] {
			return a[1] + (b[1]-a[1])*ramp(latitude, a[0], b[0])
		}
	}
	return c[len(c)-1][1]
}

// coldC is the temperature in C of a day's warmest hours below which nobody wants
// to open a hive; common practice, no source. They are some 5 C above its mean (from
// memory of climate tables).
const (
	coldC = 11
	noonC = 5
)

// idleDay is gathered on any day: what is soft already creeps.
const idleDay = 0.01

// localDay returns the year and the day, from 0, of a northern place with the
// same season: south of the equator a year begins in July.
func localDay(latitude float64, on scheduler.Date) (year int, into float64) {
	if latitude < 0 {
		on += 184
	}
	year = on.Year()
	return year, float64(on - scheduler.NewDate(year, 1, 1))
}

// rains returns how wet the season is, 0 to 1. Near the equator there are two
// rains, in April and in October or November, elsewhere one in high summer
// (from memory of climate maps of Africa).
func rains(latitude, into float64) float64 {
	if math.Abs(latitude) < 8 {
		return 0.5 + 0.5*math.Cos(4*math.Pi*(into-115)/365.25)
	}
	return 0.5 + 0.5*math.Cos(2*math.Pi*(into-210)/365.25)
}

// ramp rises from 0 at low to 1 at high.
func ramp(x, low, high float64) float64 { return max(0, min(1, (x-low)/(high-low))) }

// sum returns what is gathered from a up to, not including, b.
func (w *weather) sum(a, b scheduler.Date) float64 { return w.glued[b-w.first] - w.glued[a-w.first] }

// dryDay returns the first dry day from on that is one of the weekdays, or
// after the longest wait the first of the weekdays.
func (w *weather) dryDay(on scheduler.Date, weekdays scheduler.WeekdaySet) scheduler.Date {
	for d := on; ; d++ {
		if weekdays.Has(d.Weekday()) &&
			(int(d-on) >= w.wait || w.dice.draw(ofSpells, w.place, int(d)/3) >= w.wet) {
			return d
		}
	}
}
