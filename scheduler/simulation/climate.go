package simulation

import (
	"math"

	"pryday/scheduler"
)

// climate is the true bees' year at one place: how much is glued from a day to
// another, and which days are dry. It knows no stages: a day's gluing follows
// from its temperature and from how far the summer is gone.
type climate struct {
	dice  dice
	place int
	first scheduler.Date
	glued []float64 // sealing days from first to each day, for a box of rate 1
	dry   float64
	wait  int
}

// newClimate works out the days from first to last. Temperatures are a cosine
// over the year. Its mean and swing by latitude are read off climate maps from
// memory, for the middle of a continent's west and east; a place with an
// elevation is 6.5 C colder per 1000 m (ISO 2533, standard atmosphere).
func newClimate(d dice, a *Assumptions, place int, latitude, elevationM float64, first, last scheduler.Date) *climate {
	c := &climate{dice: d, place: place, first: first, dry: a.DryShare, wait: a.MaxWait}
	mean := 24 - 0.75*(latitude-25) + 0.006*(latitude-25)*(latitude-25) - 6.5*elevationM/1000
	swing := 6 + 0.35*min(latitude-25, 20) - 0.2*max(latitude-45, 0)
	shift := a.PlaceShiftSD * d.normal(forPlace, place, 0)
	plenty := a.PlacePaceSD * d.normal(forPlace, place, 1)
	c.glued = make([]float64, last-first+2)
	for on := first; on <= last; on++ {
		year := on.Year()
		into := float64(on-scheduler.NewDate(year, 1, 1)) - shift - a.YearShiftSD*d.normal(forYear, year, 0)
		warm := logistic((mean + swing*math.Cos(2*math.Pi*(into-midsummer)/365.25) - flyingC) / 2.5)
		gone := logistic((into - turn) / 20)
		rich := plenty + a.YearPaceSD*d.normal(forYear, year, 1) + gone*a.LatePaceSD*d.normal(forYear, year, 2)
		k := on - first
		c.glued[k+1] = c.glued[k] + idle + busy*warm*(early+(late-early)*gone)*math.Exp(rich)
	}
	return c
}

// Common practice, no source: bees fly, and propolis can be worked, on days
// whose mean is above some 12 C; little is gathered in spring and most from
// high summer into autumn; a winter cluster glues next to nothing.
const (
	midsummer = 202.0 // days after 1 January on which it is warmest
	turn      = 180.0 // days after 1 January at which gathering is half way from early to late
	flyingC   = 12.5  // mean of a day on which half of the bees fly
	idle      = 0.02  // glued on any day
	early     = 0.5
	late      = 1.6
	busy      = 1.15
)

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// sum returns what a box of rate 1 glues from a up to, not including, b.
func (c *climate) sum(a, b scheduler.Date) float64 { return c.glued[b-c.first] - c.glued[a-c.first] }

// dryDay returns the first dry day from on that is one of the weekdays, or
// after the longest wait the first of the weekdays.
func (c *climate) dryDay(on scheduler.Date, weekdays scheduler.WeekdaySet) scheduler.Date {
	for d := on; ; d++ {
		if weekdays.Has(d.Weekday()) &&
			(int(d-on) >= c.wait || c.dice.draw(ofWeather, c.place, int(d)) < c.dry) {
			return d
		}
	}
}
