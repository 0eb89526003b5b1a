package gazetteer

import (
	"cmp"
	"math"
	"slices"
)

// earthKM is the mean radius of the earth (IUGG: 6371.0088 km).
const earthKM = 6371.0088

// Distance returns the kilometres between two points along the ground, by the
// haversine formula on a sphere: within half a per cent.
func Distance(lat1, lon1, lat2, lon2 float64) float64 {
	const radian = math.Pi / 180
	a := math.Pow(math.Sin((lat2-lat1)*radian/2), 2) +
		math.Cos(lat1*radian)*math.Cos(lat2*radian)*math.Pow(math.Sin((lon2-lon1)*radian/2), 2)
	return 2 * earthKM * math.Asin(math.Sqrt(min(a, 1)))
}

// Within returns the places of at least so many people between two parallels
// and two meridians, the largest first, at most so many. East may be past 180.
func (g *Gazetteer) Within(south, west, north, east float64, people, most int) ([]Place, error) {
	var out []Place
	for _, turn := range []float64{-360, 0, 360} { // of a frame that crosses the date line
		s, w, n, e := thousandths(south), thousandths(west+turn), thousandths(north), thousandths(east+turn)
		for i, b := range g.head.Places {
			if b.Most < people || b.North < s || b.South > n || b.East < w || b.West > e {
				continue
			}
			block, err := g.places(i)
			if err != nil {
				return nil, err
			}
			for k, lat := range block.latitude {
				lon := block.longitude[k]
				if block.population[k] >= people && lat >= s && lat <= n && lon >= w && lon <= e {
					out = append(out, g.place(block, i*PlacesInBlock+k))
				}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Place) int { return cmp.Compare(b.Population, a.Population) })
	return out[:min(len(out), most)], nil
}

// Nearest returns the nearest place of at least so many people and how far it
// is in kilometres; false where there is none within 320.
func (g *Gazetteer) Nearest(latitude, longitude float64, people int) (Place, float64, bool) {
	for _, reach := range []float64{5, 20, 80, 320} {
		high := reach / 111
		wide := min(high/max(math.Cos(latitude*math.Pi/180), 0.01), 180)
		all, err := g.Within(latitude-high, longitude-wide, latitude+high, longitude+wide, people, math.MaxInt)
		if err != nil {
			return Place{}, 0, false
		}
		best, at := reach, -1
		for i := range all {
			if km := Distance(latitude, longitude, all[i].Latitude, all[i].Longitude); km <= best {
				best, at = km, i
			}
		}
		if at >= 0 {
			return all[at], best, true
		}
	}
	return Place{}, 0, false
}

func thousandths(degrees float64) int { return int(math.Round(degrees * perDegree)) }
