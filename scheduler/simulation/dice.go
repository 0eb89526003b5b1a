package simulation

import "math"

// stream keeps the draws for different things apart.
type stream uint64

const (
	forClub stream = iota + 1
	forPlace
	forYear
	forColony
	forBox
	forDrift
	forKeeper
	forStack
	forHabit
	ofTheDay
	ofJudging
	ofScraping
	ofLeft
	ofWeather
	ofGoing
	ofReplacing
	ofResampling

	// of the imperfect world
	forLevel
	forPeople
	forBoxYear
	ofWeeks
	ofSpells
	ofDrought
	ofQueens
	ofDying
	ofSealing
	ofRain
	ofMoving
	ofWriting
	ofEntering
	ofMistakes
	ofAnswering
	ofChance
)

// dice draws numbers that depend only on what they are for, so that every
// policy meets the same weather, the same colonies and, when it opens a box on
// the same day as another, the same seal.
type dice uint64

// draw returns a number that is uniform between 0 and 1, both excluded.
func (d dice) draw(s stream, about ...int) float64 {
	x := mix(uint64(d) ^ mix(uint64(s)))
	for _, a := range about {
		x = mix(x ^ uint64(a))
	}
	return (float64(x>>11) + 0.5) / (1 << 53)
}

// normal returns a standard normal number.
func (d dice) normal(s stream, about ...int) float64 {
	return math.Sqrt2 * math.Erfinv(2*d.draw(s, about...)-1)
}

// between returns a number that is uniform between a and b.
func (d dice) between(a, b float64, s stream, about ...int) float64 {
	return a + (b-a)*d.draw(s, about...)
}

// gamma returns a gamma number of a shape above 0 and scale 1 (Marsaglia and
// Tsang 2000, "A simple method for generating gamma variables", ACM TOMS 26).
func (d dice) gamma(shape float64, s stream, about ...int) float64 {
	at := append(append(make([]int, 0, 8), about...), 0)
	next := func() int { at[len(about)]++; return at[len(about)] }
	boost := 1.0
	if shape < 1 {
		next()
		boost = math.Pow(d.draw(s, at...), 1/shape)
		shape++
	}
	third := shape - 1.0/3
	for {
		next()
		x := d.normal(s, at...)
		v := 1 + x/math.Sqrt(9*third)
		v = v * v * v
		next()
		if v > 0 && math.Log(d.draw(s, at...)) < x*x/2+third*(1-v+math.Log(v)) {
			return boost * third * v
		}
	}
}

// mix is a step of SplitMix64 (Steele, Lea and Flood 2014, "Fast splittable
// pseudorandom number generators", OOPSLA).
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}
