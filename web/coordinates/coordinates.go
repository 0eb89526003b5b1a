// Package coordinates reads where a place is from what a person copies or types:
// decimal degrees, degrees with minutes or with seconds too, the letters of the
// winds before or after in English or German, a comma for the decimal point,
// geo addresses of RFC 5870, the strings of ISO 6709, and links of maps.
package coordinates

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// What can be wrong with coordinates.
var (
	ErrNone      = errors.New("these are no coordinates")                        // but perhaps a name
	ErrUnclear   = errors.New("these look like coordinates, but cannot be read") // of what is there
	ErrLatitude  = errors.New("a latitude goes from -90 to 90")                  // south to north
	ErrLongitude = errors.New("a longitude goes from -180 to 180")               // west to east
	ErrSixty     = errors.New("minutes and seconds go from 0 to below 60, degrees before them are whole")
	ErrSystem    = errors.New("these are coordinates of another system than WGS 84") // crs of RFC 5870
)

// longest is how many bytes are read; a map's link is shorter.
const longest = 2000

// Point is a place on the earth.
type Point struct {
	Latitude, Longitude float64  // degrees of WGS 84
	Height              *float64 // metres, where it was said
}

// Parse reads both coordinates of a place. Without letters the latitude comes
// first.
func Parse(s string) (Point, error) {
	s = strings.TrimSpace(s)
	if s == "" || len(s) > longest {
		return Point{}, ErrNone
	}
	var p Point
	var err error
	switch lower := strings.ToLower(s); {
	case strings.HasPrefix(lower, "geo:"):
		p, err = parseGeo(s[len("geo:"):])
	case strings.Contains(lower, "://"):
		p, err = parseLink(s)
	case iso6709.MatchString(s):
		p, err = parseISO(s)
	default:
		p, err = parseTyped(s)
	}
	if err != nil {
		return Point{}, err
	}
	return p, p.check()
}

func (p Point) check() error {
	switch {
	case !(math.Abs(p.Latitude) <= 90):
		return ErrLatitude
	case !(math.Abs(p.Longitude) <= 180):
		return ErrLongitude
	}
	return nil
}

// Latitude reads a latitude alone.
func Latitude(s string) (float64, error) { return one(s, northSouth) }

// Longitude reads a longitude alone.
func Longitude(s string) (float64, error) { return one(s, eastWest) }

func one(s string, along axis) (float64, error) {
	if len(s) > longest {
		return 0, ErrNone
	}
	err := error(ErrNone)
	for _, comma := range []bool{true, false} { // a decimal comma, or none
		tokens, ok := tokenise(s, comma)
		if !ok {
			continue
		}
		var v float64
		if v, err = value(tokens, along); err != nil {
			continue
		}
		p := Point{Latitude: v}
		if along == eastWest {
			p = Point{Longitude: v}
		}
		return v, p.check()
	}
	return 0, err
}

// String writes p as decimal degrees to about a metre.
func (p Point) String() string { return fmt.Sprintf("%.5f, %.5f", p.Latitude, p.Longitude) }
