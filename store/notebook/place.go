package notebook

import (
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// placing finds where each entry of a table belongs.
type placing struct {
	*table
	apiaries map[string]*site // by the name of the club, or folded for a new one
	order    []*site
	boxes    []*placed
	byBox    map[*scheduler.Box]*placed
	stacks   map[rowHive]*stack
	places   map[rowHive]*places
	counted  map[*int]int // the last row that a question counts, from 1
}

// site is an apiary, and the stack of a hive under it.
type site struct {
	have  *scheduler.Apiary // nil for one to be made
	fresh *scheduler.Apiary
	name  string
	hives map[string]*stack
	order []*stack
}

type stack struct {
	site  *site
	have  *scheduler.Hive // nil for one to be made
	fresh bool
	name  string
	boxes map[string]*placed
	made  []*placed // that are not there yet
	rows  []*entry  // in the order of the table, also of rows that are refused
}

// placed is a box with what the table says of it.
type placed struct {
	have     *scheduler.Box // nil for one to be made
	on       *stack         // nil for a box on no hive
	name     string
	named    bool // by its place, because the table has no mark of it
	kind     string
	asked    bool // a word for it is not explained yet
	setUp    scheduler.Date
	place    string // in the stack, as the table writes it
	position int    // counted, or
	spot     spot   // as a word says it
	entries  []*entry
	add      []*entry // that are new
}

func newPlacing(t *table) *placing {
	return &placing{table: t, apiaries: map[string]*site{}, byBox: map[*scheduler.Box]*placed{}, stacks: map[rowHive]*stack{}, counted: map[*int]int{}}
}

func (p *placing) place() {
	p.places = placesIn(p.entries)
	for _, e := range p.entries {
		if p.why[e.row] == nil {
			p.entry(e)
		}
	}
	p.line()
}

func (p *placing) entry(e *entry) {
	if e.apiary == "" && e.hive == "" {
		if b := spareBox(p.club, e.box); b != nil {
			p.take(e, p.box(b, nil))
			return
		}
	}
	s := p.site(e)
	if s == nil {
		return
	}
	h := p.hive(s, e)
	if h == nil {
		return
	}
	p.stacks[rowHiveOf(e)] = h
	if b := p.onHive(h, e); b != nil {
		e.of = b
		p.take(e, b)
	}
}

// take gives an entry to its box, if what it says of the box is so.
func (p *placing) take(e *entry, b *placed) {
	switch {
	case e.kind != "" && b.kind != "" && e.kind != b.kind:
		p.refuse(e.row, text.New("sheet.why.other-kind", b.name, text.Kind(b.kind)))
		return
	case e.opened && e.o.On < e.setUp:
		p.refuse(e.row, text.New("sheet.why.before-set-up", b.name, e.setUp))
		return
	case b.have != nil && e.opened && !b.have.MayStandOn(e.o.On):
		p.refuse(e.row, text.New("sheet.why.before-set-up", b.name, b.have.SetUpOn))
		return
	case b.have != nil && b.have.RetiredOn != 0 && e.o.On > b.have.RetiredOn:
		p.refuse(e.row, text.New("sheet.why.after-retired", b.name, b.have.RetiredOn))
		return
	}
	if b.kind == "" {
		b.kind, b.asked = e.kind, b.asked || e.kindAsked
	}
	if b.setUp == 0 {
		b.setUp = e.setUp
	}
	if b.place == "" && e.place != "" {
		b.place, b.position = e.place, e.position
		if e.spot != 0 {
			b.spot = e.spot
		}
	}
	b.entries = append(b.entries, e)
}

// site finds the apiary of an entry: by its name, by its hive, or as was chosen for
// rows that name none.
func (p *placing) site(e *entry) *site {
	name := e.apiary
	if name == "" {
		if a := onlyApiaryWith(p.club, e.hive); a != nil {
			name = a.Name
		}
	}
	if name == "" {
		p.rowOf(&p.asked.NoApiary, e)
		switch name = p.choices.Apiary; name {
		case "":
			p.asked.open = true
			return p.keep("none", &site{})
		case Refuse:
			p.refuse(e.row, text.New("sheet.why.no-apiary"))
			return nil
		}
	}
	if a := named(p.club.Apiaries, name, func(a *scheduler.Apiary) string { return a.Name }); a != nil {
		return p.known(a)
	}
	asked := Word{key(name), short(name), 0}
	at := slices.IndexFunc(p.asked.Apiaries, func(w Word) bool { return w.Folded == asked.Folded })
	if at < 0 {
		if len(p.asked.Apiaries) == MaxWords {
			p.refuse(e.row, text.New("sheet.why.words", Apiary.Text(), short(name), MaxWords))
			return nil
		}
		p.asked.Apiaries, at = append(p.asked.Apiaries, asked), len(p.asked.Apiaries)
	}
	p.asked.Apiaries[at].Rows++
	folded := asked.Folded
	if like := p.choices.Apiaries[folded].Like; like != "" && p.choices.Apiaries[like].Like == "" {
		folded = like
		if a := named(p.club.Apiaries, folded, func(a *scheduler.Apiary) string { return a.Name }); a != nil {
			return p.known(a)
		}
	}
	fresh := func(s *site) *site {
		s = p.keep("new "+folded, s)
		if folded == asked.Folded {
			s.name = name // and not as a row before wrote it
		}
		return s
	}
	switch answer := p.choices.Apiaries[folded]; {
	case answer.Is == Refuse:
		p.refuse(e.row, text.New("sheet.why.no-place", short(name)))
	case answer.Is != "":
		if a := named(p.club.Apiaries, answer.Is, func(a *scheduler.Apiary) string { return a.Name }); a != nil {
			return p.known(a)
		}
		p.asked.open = true
	case answer.Fresh != nil:
		return fresh(&site{fresh: answer.Fresh, name: name})
	default:
		p.asked.open = true
		return fresh(&site{name: name})
	}
	return nil
}

// rowOf counts the row of an entry, once for all its boxes.
func (p *placing) rowOf(count *int, e *entry) {
	if p.counted[count] != e.row+1 {
		p.counted[count] = e.row + 1
		*count++
	}
}

func (p *placing) known(a *scheduler.Apiary) *site {
	return p.keep("old "+a.Name, &site{have: a, name: a.Name})
}

func (p *placing) keep(key string, s *site) *site {
	if have := p.apiaries[key]; have != nil {
		return have
	}
	s.hives = map[string]*stack{}
	p.apiaries[key], p.order = s, append(p.order, s)
	return s
}

// hive finds the hive of an entry, or the only one of its apiary with such a box.
func (p *placing) hive(s *site, e *entry) *stack {
	var have *scheduler.Hive
	name := e.hive
	if s.have != nil {
		if name != "" {
			have = named(s.have.Hives, name, func(h *scheduler.Hive) string { return h.Name })
		} else if have = onlyHiveWith(s.have, e.box); have != nil {
			name = have.Name
		}
	}
	if name == "" {
		p.refuse(e.row, text.New("sheet.why.no-hive"))
		return nil
	}
	if have != nil {
		name = have.Name
	}
	h := s.hives[key(name)]
	if h == nil || h.have != have {
		h = &stack{site: s, have: have, fresh: have == nil, name: name, boxes: map[string]*placed{}}
		s.hives[key(name)], s.order = h, append(s.order, h)
	}
	return h
}

// onHive finds the box of an entry on its hive, or one that once stood there; or
// makes it.
func (p *placing) onHive(h *stack, e *entry) *placed {
	mark := p.markOf(h, e)
	switch {
	case e.box == "":
		mark = p.unmarked(h, e)
	case mark == "": // of one of two
		p.refuse(e.row, text.New("sheet.why.no-mark"))
	case h.have != nil && e.place != "":
		if both := twin(e); named(h.have.Boxes, both, func(b *scheduler.Box) string { return b.Name }) != nil {
			mark = both
		}
	}
	if mark == "" {
		return nil
	}
	if h.have != nil {
		if b := named(h.have.Boxes, mark, func(b *scheduler.Box) string { return b.Name }); b != nil {
			return p.box(b, h)
		}
		if b := onceOn(p.club, mark, h.have.ID); b != nil {
			return p.box(b, h)
		}
	}
	b := h.boxes[key(mark)]
	if b == nil {
		b = &placed{on: h, name: mark, named: e.box == "" && mark == ownMark(h, e), spot: spotOfMark(e.box)}
		h.boxes[key(mark)], h.made, p.boxes = b, append(h.made, b), append(p.boxes, b)
	}
	return b
}

func (p *placing) box(b *scheduler.Box, on *stack) *placed {
	if have := p.byBox[b]; have != nil {
		return have
	}
	out := &placed{have: b, on: on, name: b.Name, kind: b.Kind}
	p.byBox[b], p.boxes = out, append(p.boxes, out)
	return out
}
