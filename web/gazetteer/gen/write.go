package main

import (
	"bytes"
	"cmp"
	"compress/flate"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"golang.org/x/text/language"
	"golang.org/x/text/language/display"

	"pryday/web/gazetteer"
)

// writing is a file under way.
type writing struct {
	body    bytes.Buffer
	zones   map[string]int
	regions map[string]int
	head    struct {
		Source    gazetteer.Source
		Zones     []string
		Regions   []gazetteer.Region
		Countries map[string]map[string]string
		Places    []gazetteer.Block
		Spellings []gazetteer.Block
	}
}

// write makes the file of towns.
func write(towns []town, divisions []gazetteer.Region, source gazetteer.Source) ([]byte, error) {
	w := &writing{zones: map[string]int{}, regions: map[string]int{}}
	w.head.Source = source
	slices.SortStableFunc(towns, func(a, b town) int {
		return cmp.Or(cmp.Compare(along(a.latitude, a.longitude), along(b.latitude, b.longitude)), cmp.Compare(a.name, b.name))
	})
	names := map[string]string{}
	for _, r := range divisions {
		names[r.Code] = r.Name
	}
	for at := range slices.Chunk(towns, gazetteer.PlacesInBlock) {
		w.places(at, names)
	}
	w.head.Source.Places = len(towns)
	w.countries(towns)
	w.spellings(towns)
	head, err := json.Marshal(w.head)
	if err != nil {
		return nil, err
	}
	head = deflate(head)
	if len(head) >= 1<<24 {
		return nil, fmt.Errorf("the head has %d bytes", len(head))
	}
	out := append([]byte(gazetteer.Magic), byte(len(head)>>16), byte(len(head)>>8), byte(len(head)))
	return append(append(out, head...), w.body.Bytes()...), nil
}

// along is the place on a curve that fills the map (Morton's), so that what is
// near on it is near on the ground.
func along(lat, lon int) (z uint64) {
	y, x := uint64(lat+90000), uint64(lon+180000)
	for bit := range 19 {
		z |= (x>>bit&1)<<(2*bit) | (y>>bit&1)<<(2*bit+1)
	}
	return z
}

func (w *writing) places(towns []town, names map[string]string) {
	block := gazetteer.Block{South: math.MaxInt, West: math.MaxInt, North: math.MinInt, East: math.MinInt}
	raw := binary.AppendVarint(nil, int64(len(towns)))
	for _, of := range []func(town) int{
		func(t town) int { return t.latitude },
		func(t town) int { return t.longitude },
		func(t town) int { return t.elevation },
		func(t town) int { return t.people },
		func(t town) int {
			return index(w.zones, t.zone, func() { w.head.Zones = append(w.head.Zones, t.zone) })
		},
		func(t town) int {
			return index(w.regions, t.region, func() {
				w.head.Regions = append(w.head.Regions, gazetteer.Region{Code: t.region, Name: names[t.region]})
			})
		},
	} {
		last := 0
		for _, t := range towns {
			raw, last = binary.AppendVarint(raw, int64(of(t)-last)), of(t)
		}
	}
	for i, t := range towns {
		if i > 0 {
			raw = append(raw, '\n')
		}
		raw = append(raw, t.name...)
		block.South, block.North = min(block.South, t.latitude), max(block.North, t.latitude)
		block.West, block.East = min(block.West, t.longitude), max(block.East, t.longitude)
		block.Most = max(block.Most, t.people)
	}
	w.head.Places = append(w.head.Places, w.add(block, raw))
}

// named are the languages that names of countries are written in.
var named = map[string]display.Namer{"en": display.English.Regions(), "de": display.German.Regions()}

func (w *writing) countries(towns []town) {
	w.head.Countries = map[string]map[string]string{}
	for lang, namer := range named {
		names := map[string]string{}
		for _, t := range towns {
			code, _, _ := strings.Cut(t.region, ".")
			if region, err := language.ParseRegion(code); err == nil {
				names[code] = namer.Name(region)
			}
		}
		w.head.Countries[lang] = names
	}
}

func index(in map[string]int, key string, first func()) int {
	i, ok := in[key]
	if !ok {
		i = len(in)
		in[key] = i
		first()
	}
	return i
}

// spelt is a spelling of the town at a place in the file.
type spelt struct {
	text, folded string
	place, rank  int
}

func (w *writing) spellings(towns []town) {
	var all []spelt
	for i, t := range towns {
		size := int(2 * math.Log2(float64(t.people+1)))
		for k, s := range t.spellings {
			rank := size
			if k > 0 {
				rank = max(size-gazetteer.OtherName, 0)
			}
			all = append(all, spelt{s, gazetteer.Fold(s), i, rank})
		}
	}
	slices.SortFunc(all, func(a, b spelt) int {
		return cmp.Or(cmp.Compare(a.folded, b.folded), cmp.Compare(a.text, b.text), cmp.Compare(a.place, b.place))
	})
	for at := range slices.Chunk(all, gazetteer.SpellingsInBlock) {
		raw := binary.AppendVarint(nil, int64(len(at)))
		for _, of := range []func(spelt) int{
			func(s spelt) int { return s.place >> 16 },
			func(s spelt) int { return s.place >> 8 },
			func(s spelt) int { return s.place },
			func(s spelt) int { return s.rank },
		} {
			for _, s := range at {
				raw = append(raw, byte(of(s)))
			}
		}
		texts := make([]string, len(at))
		for i, s := range at {
			texts[i] = s.text
		}
		w.head.Spellings = append(w.head.Spellings, w.add(gazetteer.Block{First: at[0].folded}, append(raw, strings.Join(texts, "\n")...)))
	}
	w.head.Source.Spellings = len(all)
}

func (w *writing) add(b gazetteer.Block, raw []byte) gazetteer.Block {
	b.At = w.body.Len()
	w.body.Write(deflate(raw))
	b.Len = w.body.Len() - b.At
	return b
}

func deflate(raw []byte) []byte {
	var out bytes.Buffer
	z, err := flate.NewWriter(&out, flate.BestCompression)
	if err != nil {
		panic(err) // the level is a constant
	}
	_, _ = z.Write(raw) // into memory
	_ = z.Close()
	return out.Bytes()
}
