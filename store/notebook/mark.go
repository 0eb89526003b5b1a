package notebook

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// places are what rows of one hive say of where its boxes stand.
type places struct {
	spots []spot          // that words name, from the bottom up
	words map[spot]string // for them
	marks map[spot]*entry // the first row of each that has a mark, too
	twins map[string]bool // folded marks that two of its boxes have: both stood there on one day, in two places
}

func placesIn(entries []*entry) map[rowHive]*places {
	type where struct {
		position int
		spot     spot
	}
	type markOn struct {
		hive rowHive
		mark string
		on   scheduler.Date
	}
	out, stood := map[rowHive]*places{}, map[markOn]where{}
	for _, e := range entries {
		hive := rowHiveOf(e)
		p := out[hive]
		if p == nil {
			p = &places{words: map[spot]string{}, marks: map[spot]*entry{}, twins: map[string]bool{}}
			out[hive] = p
		}
		if at, found := slices.BinarySearch(p.spots, e.spot); e.spot != 0 && !found {
			p.spots, p.words[e.spot] = slices.Insert(p.spots, at, e.spot), e.place
		}
		if e.spot != 0 && e.box != "" && p.marks[e.spot] == nil && legible(e.box, false) && utf8.RuneCountInString(e.box) <= maxName {
			p.marks[e.spot] = e
		}
		if e.box == "" || e.place == "" || e.o.On == 0 {
			continue
		}
		at, now := markOn{hive, key(e.box), e.o.On}, where{e.position, e.spot}
		if before, ok := stood[at]; ok && before != now {
			p.twins[at.mark] = true
		}
		stood[at] = now
	}
	return out
}

// markOf is the mark of the box of a row, without regard to what the club has: with its
// place where two of the hive have that mark, and where the row has none that of other
// rows of its place, or hive and place; empty where it needs a place that the row does
// not say.
func (p *placing) markOf(h *stack, e *entry) string {
	switch {
	case e.box != "" && !p.places[rowHiveOf(e)].twins[key(e.box)]:
		return e.box
	case e.place == "":
		return ""
	case e.box != "":
		return twin(e)
	}
	if other := p.places[rowHiveOf(e)].marks[e.spot]; other != nil {
		return p.markOf(h, other)
	}
	return ownMark(h, e)
}

// ownMark is what a box without a mark is called, by its hive and place.
func ownMark(h *stack, e *entry) string { return within(h.name, "-"+e.place) }

// twin is a mark told apart by its place from the same mark on another box.
func twin(e *entry) string { return within(e.box, " ("+e.place+")") }

// within is a name with something behind it, which is cut as short as a mark must be.
func within(name, behind string) string {
	if letters, most := []rune(name), max(maxName-utf8.RuneCountInString(behind), 0); len(letters) > most {
		name = string(letters[:most])
	}
	return name + behind
}

// unmarked is the mark of the box that a row without one means.
func (p *placing) unmarked(h *stack, e *entry) string {
	if e.place == "" {
		p.rowOf(&p.asked.Unmarked, e)
		switch p.choices.Unmarked {
		case LowestOf:
			e.place, e.position = "1", 1
			if in := p.places[rowHiveOf(e)]; len(in.spots) > 0 {
				e.spot, e.position = in.spots[0], 0
				e.place = in.words[e.spot]
			}
		case Refuse:
			p.refuse(e.row, text.New("sheet.why.no-mark"))
			return ""
		default:
			p.asked.open = true
			return ""
		}
	}
	if e.spot != 0 {
		return p.atSpot(h, e)
	}
	if h.have != nil && len(h.have.Boxes) >= e.position {
		return h.have.Boxes[e.position-1].Name
	}
	for _, b := range h.made {
		if b.position == e.position {
			return b.name
		}
	}
	return within(h.name, "-"+strconv.Itoa(e.position))
}

// atSpot is the mark of the box at a place that a word names. On a hive that is there,
// the words of the table name its boxes from the bottom up, if there are enough of them:
// fewer say for sure which is the lowest and which the topmost, and nothing of others.
func (p *placing) atSpot(h *stack, e *entry) string {
	own := p.markOf(h, e)
	if h.have == nil || len(h.have.Boxes) == 0 || own != ownMark(h, e) {
		return own
	}
	boxes, named := h.have.Boxes, false
	for i := range boxes { // as such a table named them
		switch spotOfMark(strings.TrimPrefix(boxes[i].Name, h.name+"-")) {
		case 0:
		case e.spot:
			return boxes[i].Name
		default:
			named = true
		}
	}
	if named {
		return own
	}
	spots := p.places[rowHiveOf(e)].spots
	nth := slices.Index(spots, e.spot)
	switch {
	case nth == 0 && e.spot < spotBrood+middleOfThem:
		return boxes[0].Name
	case e.spot == spotTop:
		return boxes[len(boxes)-1].Name
	case len(spots) < len(boxes):
		p.refuse(e.row, text.New("sheet.why.which-place", h.name, len(boxes), e.place))
		return ""
	case nth < len(boxes):
		return boxes[nth].Name
	}
	return own
}
