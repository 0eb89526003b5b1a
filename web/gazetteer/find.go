package gazetteer

import (
	"cmp"
	"slices"
	"sort"
	"strings"
	"unicode/utf8"
)

const (
	longestName = 100 // bytes of a question; no name is longer
	mostAlike   = 400 // of one spelling that are looked at
)

// Found is a place and the spelling under which it was found.
type Found struct {
	Place
	Spelling string
	Exact    bool // the whole of the spelling was asked for, not its beginning
}

// Find returns places whose names begin with what somebody typed: those that
// are called so before longer names, then the larger first, at most so many.
// What follows a comma, or the last words where nothing is called so, is the
// region or country: within tells whether a place lies in what folds to it.
func (g *Gazetteer) Find(typed string, most int, within func(p Place, folded string) bool) ([]Found, error) {
	if len(typed) > longestName {
		return nil, nil
	}
	name, rest, _ := strings.Cut(typed, ",")
	found, err := g.named(Fold(name), Fold(rest), most, within)
	if err != nil || len(found) > 0 || rest != "" {
		return found, err
	}
	words := strings.Fields(Fold(name))
	for n := len(words) - 1; n > 0; n-- {
		found, err = g.named(strings.Join(words[:n], " "), strings.Join(words[n:], " "), most, within)
		if err != nil || len(found) > 0 {
			break
		}
	}
	return found, err
}

// named tries a name, and then what it means without umlauts.
func (g *Gazetteer) named(name, where string, most int, within func(Place, string) bool) ([]Found, error) {
	found, err := g.beginning(name, where, most, within)
	if plain := withoutE.Replace(name); err == nil && len(found) == 0 && plain != name {
		found, err = g.beginning(plain, where, most, within)
	}
	return found, err
}

func (g *Gazetteer) beginning(name, where string, most int, within func(Place, string) bool) ([]Found, error) {
	if utf8.RuneCountInString(name) < 2 {
		return nil, nil
	}
	hits, err := g.hits(name)
	if err != nil {
		return nil, err
	}
	blocks := map[int]*placeBlock{}
	var out []Found
	for _, h := range hits[:min(len(hits), mostAlike)] {
		b := blocks[h.place/PlacesInBlock]
		if b == nil {
			if b, err = g.places(h.place / PlacesInBlock); err != nil {
				return nil, err
			}
			blocks[h.place/PlacesInBlock] = b
		}
		p := g.place(b, h.place)
		if where != "" && !within(p, where) {
			continue
		}
		out = append(out, Found{p, h.text, h.exact})
		if len(out) == most {
			break
		}
	}
	return out, nil
}

type hit struct {
	spelling
	exact bool
}

// hits are the spellings that begin with a folded name, each place once, in the
// order in which Find gives them.
func (g *Gazetteer) hits(name string) ([]hit, error) {
	from := sort.Search(len(g.head.Spellings), func(i int) bool { return g.head.Spellings[i].First >= name })
	best := map[int]hit{}
	for i := max(from-1, 0); i < len(g.head.Spellings); i++ {
		first := g.head.Spellings[i].First
		if first > name && !strings.HasPrefix(first, name) {
			break
		}
		block, err := g.spellings(i)
		if err != nil {
			return nil, err
		}
		for _, s := range block {
			folded := Fold(s.text)
			if !strings.HasPrefix(folded, name) {
				continue
			}
			h := hit{s, folded == name}
			if had, ok := best[s.place]; !ok || before(h, had) < 0 {
				best[s.place] = h
			}
		}
	}
	out := make([]hit, 0, len(best))
	for _, h := range best {
		out = append(out, h)
	}
	slices.SortFunc(out, before)
	return out, nil
}

// before orders what was found: called so, larger, and then as in the file.
func before(a, b hit) int {
	if a.exact != b.exact {
		if a.exact {
			return -1
		}
		return 1
	}
	return cmp.Or(cmp.Compare(b.rank, a.rank), cmp.Compare(a.place, b.place), cmp.Compare(a.text, b.text))
}
