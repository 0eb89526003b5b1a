// Package gazetteer knows towns and villages of the world by name and by where
// they lie, from a file inside the program. The places are those of GeoNames
// with 500 people or more, under the Creative Commons Attribution 4.0 licence;
// Source has what must be said of that.
//
// The file is read where somebody asks: what is kept in memory is a list of its
// blocks, below a megabyte.
package gazetteer

import (
	_ "embed"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
)

//go:embed places.bin
var shipped string

// ErrDamaged means that a file of places is not one, or is damaged.
var ErrDamaged = errors.New("the file of places is damaged")

// Place is a town, a village or a part of one.
type Place struct {
	ID                  int // in this file alone
	Name                string
	Latitude, Longitude float64 // degrees, to a thousandth
	ElevationM          int     // of the ground, metres
	Population          int     // to two digits; 0 where not known
	Zone                string  // IANA time zone
	Country             string  // ISO 3166 alpha-2
	Region              string  // the first division below the country, in English; may be empty
	RegionCode          string  // GeoNames' code of it, as "DE.02"
}

// Source is what a file says of where it comes from.
type Source struct {
	Name, Licence, LicenceURL, URL string
	Packages                       []string // what it was made from: name, version and sum
	Newest                         string   // the day of its youngest entry
	Places, Spellings              int
}

// Gazetteer is an open file of places. Many may ask it at once.
type Gazetteer struct {
	data string // of the blocks
	head header
}

var open = sync.OnceValues(func() (*Gazetteer, error) { return Open(shipped) })

// Shipped opens the file inside the program, once.
func Shipped() (*Gazetteer, error) { return open() }

// Open reads the head of a file of places.
func Open(file string) (*Gazetteer, error) {
	if len(file) < len(Magic)+4 || file[:len(Magic)] != Magic {
		return nil, fmt.Errorf("%w: it does not begin with %q", ErrDamaged, Magic)
	}
	n := int(file[len(Magic)])<<16 | int(file[len(Magic)+1])<<8 | int(file[len(Magic)+2])
	body := file[len(Magic)+3:]
	if n > len(body) {
		return nil, fmt.Errorf("%w: it ends within its head", ErrDamaged)
	}
	g := &Gazetteer{data: body[n:]}
	if err := g.head.read(body[:n]); err != nil {
		return nil, err
	}
	return g, nil
}

// Source says where the places come from.
func (g *Gazetteer) Source() Source { return g.head.Source }

// Country returns what a country is called in a language, by CLDR; in English
// where the file does not have the language, and its code where it has no name.
func (g *Gazetteer) Country(code, language string) string {
	language, _, _ = strings.Cut(language, "-")
	for _, language := range []string{language, "en"} {
		if name := g.head.Countries[language][code]; name != "" {
			return name
		}
	}
	return code
}

// Languages are those that the file has names of countries in.
func (g *Gazetteer) Languages() []string { return slices.Sorted(maps.Keys(g.head.Countries)) }

// Place returns the place with an id that a Find of the same file gave.
func (g *Gazetteer) Place(id int) (Place, bool) {
	if id < 0 || id >= g.head.Source.Places {
		return Place{}, false
	}
	b, err := g.places(id / PlacesInBlock)
	if err != nil || id%PlacesInBlock >= len(b.names) {
		return Place{}, false
	}
	return g.place(b, id), true
}
