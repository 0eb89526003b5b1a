package scheduler

import (
	"cmp"
	"math"
	"slices"
)

// Neighbour is what the days observed at another apiary of the club say about
// the season at one.
type Neighbour struct {
	ApiaryID int64
	KM       float64 // kilometres between them
	Days     int     // observed there that can be learnt from
	Off      float64 // days by which they came after what the rules say there, their mean
	Weight   float64 // that all of them have together, against 1 of one's own day
}

// What a neighbour's days count. Weights are a guess: Hopkins' law (1918) moves
// a season by four days over a degree of latitude, 111 km, and over 122 m; the
// model takes those out, but valleys and coasts differ by as much again.
const (
	mostOfNeighbour  = 0.5  // at the same place
	halfAtKM         = 20   // kilometres over which it halves
	halfAtM          = 200  // metres of height that do the same
	leastOfNeighbour = 0.05 // below it days are not looked at
)

// neighbourWeight returns what days count that were seen km away and m higher
// or lower: half of own ones at the same place, half of that at 20 km or 200 m.
func neighbourWeight(km, m float64) float64 {
	return mostOfNeighbour / (1 + km/halfAtKM + math.Abs(m)/halfAtM)
}

// Neighbours returns what was seen near a at others of its club's apiaries, of
// which it may be one itself; the one that counts most comes first. Each is
// compared with the season of its own place in the region of a, without shifts:
// what is left of its difference is the country's, and holds at a as well.
func (a *Apiary) Neighbours(others []Apiary, r *Rules) []Neighbour {
	var out []Neighbour
	here := newStop(a, r)
	for i := range others {
		o := &others[i]
		there := newStop(o, r)
		n := Neighbour{ApiaryID: o.ID, KM: here.distance(&there)}
		n.Weight = neighbourWeight(n.KM, o.ElevationM-a.ElevationM)
		if o.ID == a.ID || len(o.Seen) == 0 || n.Weight < leastOfNeighbour {
			continue
		}
		s := NewSeason(Place{Latitude: o.Latitude, ElevationM: o.ElevationM, Region: a.SeasonRegion()}, r)
		for _, day := range o.Seen {
			if off, err := s.off(day); err == nil {
				n.Off += float64(off)
				n.Days++
			}
		}
		if n.Days > 0 {
			n.Off /= float64(n.Days)
			out = append(out, n)
		}
	}
	slices.SortStableFunc(out, func(x, y Neighbour) int { return cmp.Compare(y.Weight, x.Weight) })
	return out
}
