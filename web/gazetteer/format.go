package gazetteer

import (
	"compress/flate"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"strings"
)

// The file: Magic, three bytes with the length of the head, the head (JSON,
// deflated), and the blocks, each deflated by itself. Places lie along a curve
// on which neighbours are near, so that a few blocks have the towns around;
// spellings lie by what they fold to.
const (
	Magic            = "pryday places 1\n"
	PlacesInBlock    = 512
	SpellingsInBlock = 1024
	perDegree        = 1000
)

// OtherName is what a name of a place beside its own counts less in rank: as if
// an eighth of the people lived there, so that Neustadt is before what was
// called so once.
const OtherName = 6

// Block is where a block lies and, of places, within which bounds.
type Block struct {
	At, Len                  int
	First                    string `json:",omitempty"` // of spellings: what the first folds to
	South, West, North, East int    `json:",omitempty"` // thousandths of a degree
	Most                     int    `json:",omitempty"` // the most people of one of its places
}

// Region is a division of a country.
type Region struct{ Code, Name string }

type header struct {
	Source    Source
	Zones     []string
	Regions   []Region
	Countries map[string]map[string]string // by language and code
	Places    []Block
	Spellings []Block
}

func (h *header) read(deflated string) error {
	if err := json.NewDecoder(flate.NewReader(strings.NewReader(deflated))).Decode(h); err != nil {
		return fmt.Errorf("%w: its head: %w", ErrDamaged, err)
	}
	return nil
}

// placeBlock has the places of a block, by columns.
type placeBlock struct {
	latitude, longitude, elevation, population, zone, region []int
	names                                                    []string
}

func (g *Gazetteer) inflate(b Block) ([]byte, error) {
	if b.At < 0 || b.Len < 0 || b.At+b.Len > len(g.data) {
		return nil, fmt.Errorf("%w: a block ends past its end", ErrDamaged)
	}
	raw, err := io.ReadAll(flate.NewReader(strings.NewReader(g.data[b.At : b.At+b.Len])))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrDamaged, err)
	}
	return raw, nil
}

// places reads a block: how many, a column of each number, and the names.
func (g *Gazetteer) places(block int) (*placeBlock, error) {
	raw, err := g.inflate(g.head.Places[block])
	if err != nil {
		return nil, err
	}
	n, raw := number(raw)
	if n < 0 || n > PlacesInBlock {
		return nil, fmt.Errorf("%w: %d places in a block", ErrDamaged, n)
	}
	b := &placeBlock{}
	for _, column := range []*[]int{&b.latitude, &b.longitude, &b.elevation, &b.population, &b.zone, &b.region} {
		*column = make([]int, n)
		last := 0
		for i := range n {
			var step int
			step, raw = number(raw)
			last += step
			(*column)[i] = last
		}
	}
	if b.names = strings.Split(string(raw), "\n"); len(b.names) != n {
		return nil, fmt.Errorf("%w: %d names of %d places", ErrDamaged, len(b.names), n)
	}
	return b, nil
}

func number(raw []byte) (int, []byte) {
	v, n := binary.Varint(raw)
	if n <= 0 {
		return 0, nil
	}
	return int(v), raw[n:]
}

func (g *Gazetteer) place(b *placeBlock, id int) Place {
	i := id % PlacesInBlock
	p := Place{
		ID: id, Name: b.names[i], Latitude: float64(b.latitude[i]) / perDegree, Longitude: float64(b.longitude[i]) / perDegree,
		ElevationM: b.elevation[i], Population: b.population[i],
	}
	if z := b.zone[i]; z >= 0 && z < len(g.head.Zones) {
		p.Zone = g.head.Zones[z]
	}
	if r := b.region[i]; r >= 0 && r < len(g.head.Regions) {
		p.Region, p.RegionCode = g.head.Regions[r].Name, g.head.Regions[r].Code
		p.Country, _, _ = strings.Cut(p.RegionCode, ".")
	}
	return p
}

// spelling is a name of a place, one of perhaps many.
type spelling struct {
	text  string
	place int
	rank  int // by how many people live there: 1.4 times as many are one more
}

// spellings reads a block: the texts, then places and ranks, four bytes each.
func (g *Gazetteer) spellings(block int) ([]spelling, error) {
	raw, err := g.inflate(g.head.Spellings[block])
	if err != nil {
		return nil, err
	}
	n, raw := number(raw)
	if n < 0 || n > SpellingsInBlock || len(raw) < 4*n {
		return nil, fmt.Errorf("%w: %d spellings in a block", ErrDamaged, n)
	}
	texts := strings.Split(string(raw[4*n:]), "\n")
	if len(texts) != n {
		return nil, fmt.Errorf("%w: %d texts of %d spellings", ErrDamaged, len(texts), n)
	}
	out := make([]spelling, n)
	for i := range out {
		out[i] = spelling{texts[i], int(raw[i])<<16 | int(raw[n+i])<<8 | int(raw[2*n+i]), int(raw[3*n+i])}
	}
	return out, nil
}
