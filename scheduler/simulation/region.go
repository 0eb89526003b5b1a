package simulation

import "math"

// Region is a part of the world in which a club of the imperfect world lies:
// one latitude for a club, its apiaries within half a degree of it.
type Region struct {
	Name              string
	MinLatitude       float64 // degrees, north positive
	MaxLatitude       float64
	Longitude         float64 // degrees, east positive: of the middle
	LowestM, HighestM float64 // metres above sea level
	Maritime          float64 // part of a continent's swing of temperature that the sea takes away
}

// Regions returns ten clubs' regions: half in the middle latitudes of the north,
// two in those of the south, and one each in the tropics, in the far north and
// high up.
func Regions() []Region {
	south := Region{"south", -44, -28, 147, 0, 600, 0.3}
	low := Region{"north", 32, 47, -85, 0, 600, 0}
	cool := Region{"north", 47, 56, 12, 0, 600, 0.1}
	return []Region{
		low, south, cool,
		{"tropics", -15, 15, 35, 0, 1200, 0},
		low,
		{"far north", 61, 63, 25, 0, 200, 0.1},
		cool, south,
		{"high up", 36, 46, -106, 1400, 1600, 0},
		low,
	}
}

// tropical reports whether the seasons at a latitude follow rain: between the
// tropics of Cancer and Capricorn.
func tropical(latitude float64) bool { return math.Abs(latitude) < 23.44 }
