package web

import (
	"math"

	"pryday/scheduler"
)

// projection is Lambert's azimuthal equal-area one around a point, on a sphere:
// true in area everywhere, and in shape near the point. North is up.
// Formulas: Snyder 1987, Map Projections, USGS Professional Paper 1395, 24-2 to
// 24-4 and 20-14 to 20-18.
type projection struct {
	lat, lon float64 // radians, of the point
	radius   float64
}

const (
	earthRadius = 6371.0088 // kilometres, the mean radius of the IUGG
	radian      = math.Pi / 180
)

func projectionAround(latitude, longitude float64) projection {
	return projection{latitude * radian, longitude * radian, earthRadius}
}

// xy returns where a place lies, in kilometres east and north of the point.
func (p projection) xy(latitude, longitude float64) (x, y float64) {
	sin, cos := math.Sincos(latitude * radian)
	sin1, cos1 := math.Sincos(p.lat)
	dsin, dcos := math.Sincos(longitude*radian - p.lon)
	k := p.radius * math.Sqrt(2/max(1+sin1*sin+cos1*cos*dcos, 1e-12))
	return k * cos * dsin, k * (cos1*sin - sin1*cos*dcos)
}

// place returns what lies x kilometres east and y north of the point.
func (p projection) place(x, y float64) (latitude, longitude float64) {
	r := math.Hypot(x, y)
	if r == 0 {
		return p.lat / radian, p.lon / radian
	}
	sinC, cosC := math.Sincos(2 * math.Asin(min(r/(2*p.radius), 1)))
	sin1, cos1 := math.Sincos(p.lat)
	latitude = math.Asin(cosC*sin1 + y*sinC*cos1/r)
	longitude = p.lon + math.Atan2(x*sinC, r*cos1*cosC-y*sin1*sinC)
	return latitude / radian, math.Remainder(longitude/radian, 360)
}

// middleOf is the middle of places on the sphere, the date line or not.
func middleOf(apiaries []scheduler.Apiary) (latitude, longitude float64) {
	var x, y, z float64
	for i := range apiaries {
		sin, cos := math.Sincos(apiaries[i].Latitude * radian)
		east, along := math.Sincos(apiaries[i].Longitude * radian)
		x, y, z = x+cos*along, y+cos*east, z+sin
	}
	return math.Atan2(z, math.Hypot(x, y)) / radian, math.Atan2(y, x) / radian
}
