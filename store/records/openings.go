package records

import (
	"strconv"
	"strings"

	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

var difficultyAllowed = text.New("allowed.difficulty")

// opening reads one opening into b.
func (p *parser) opening(n *node, b *scheduler.Box) {
	o := p.object(n)
	var out scheduler.Opening
	if f := o.need("on", text.New("records.allow.opening-day")); f != nil {
		out.On = p.notBefore(f, b)
		if b.RetiredOn != 0 && out.On > b.RetiredOn {
			p.bad(f, "records.why.after-retired", text.New("records.allow.to-retired", b.RetiredOn.String()))
		}
	}
	if f := o.get("id"); f != nil {
		out.ID = p.openingID(f)
	}
	if f := o.get("supersedes"); f != nil {
		out.Supersedes = p.supersedes(f, b)
	}
	if f := o.get("void"); f != nil {
		out.Void = p.truth(f)
		if out.Void && !o.has("supersedes") {
			p.bad(f, "records.why.void-of-nothing", text.New("records.allow.void"))
		}
	}
	if f := o.get("left_shut"); f != nil {
		out.LeftShut = p.truth(f)
	}
	p.howHard(o, &out)
	scraped := o.get("scraped")
	notSaid := out.Joint == scheduler.NotTried
	if scraped == nil && !out.Void && !out.LeftShut && !notSaid && !o.has("difficulty") {
		scraped = o.need("scraped", text.New("records.allow.or-null", joinWords(scrapings)))
	}
	switch {
	case scraped == nil && !notSaid:
		out.Scraped = scheduler.ScrapedNone
	case scraped != nil && scraped.kind != isNull: // null says that nobody said it
		out.Scraped = choice(p.reader, scraped, scrapings)
	}
	for _, f := range p.list(o.get("gaps"), text.New("records.allow.list-gaps")) {
		out.Gaps = append(out.Gaps, p.gap(f))
	}
	for _, f := range p.list(o.get("condition"), text.New("records.allow.list-conditions")) {
		out.Condition = append(out.Condition, choice(p.reader, f, conditions))
	}
	if f := o.get("note"); f != nil {
		out.Note = p.words(f)
	}
	if f := o.get("by"); f != nil {
		out.By = p.memberRef(f)
	}
	p.opener(o, &out)
	if f := o.get("said"); f != nil {
		out.Said = p.forecast(f)
	}
	o.done()
	b.Openings = append(b.Openings, out)
}

var openerAllowed = text.New("records.allow.opener-name")

// opener reads who opened a box where that is not who wrote it down. An empty
// name says that nobody knows.
func (p *parser) opener(o *object, out *scheduler.Opening) {
	member, name := o.get("opened_by"), o.get("opened_by_name")
	if member != nil && name != nil {
		p.bad(name, "records.why.two-openers", text.New("records.allow.one-opener"))
	}
	if name != nil && p.isKind(name, isString, openerAllowed) {
		by := scheduler.Opener{}
		switch {
		case strings.Contains(name.text, "@"):
			p.bad(name, "records.why.no-member", openerAllowed)
		case name.text != "":
			by.Name = p.name(name)
		}
		out.NameOpener(by)
	}
	if member != nil {
		if id := p.memberRef(member); id != 0 {
			out.NameOpener(scheduler.Opener{Member: id})
		}
	}
}

// howHard reads joint and frames, or difficulty in place of both.
func (p *parser) howHard(o *object, out *scheduler.Opening) {
	joint, frames, both := o.get("joint"), o.get("frames"), o.get("difficulty")
	out.Frames = scheduler.NotTried
	degree := func(n *node) scheduler.Difficulty {
		if !p.isKind(n, isNumber, difficultyAllowed) {
			return scheduler.Loose
		}
		v, err := strconv.Atoi(n.text)
		if err != nil || v < 0 || v > 4 {
			p.bad(n, "records.why.not-allowed", difficultyAllowed)
			return scheduler.Loose
		}
		return scheduler.Difficulty(v)
	}
	if both != nil {
		if joint != nil || frames != nil {
			p.bad(both, "records.why.beside-joint", text.New("records.allow.either"))
		}
		out.Joint = degree(both)
		return
	}
	switch {
	case joint != nil && joint.kind == isNull && !out.LeftShut:
		out.Joint = scheduler.NotTried
	case joint != nil:
		out.Joint = degree(joint)
	case out.LeftShut:
		out.Joint = scheduler.Stuck
	case !out.Void:
		o.need("joint", text.New("records.allow.joint", difficultyAllowed))
	}
	if frames != nil && frames.kind != isNull {
		if frames.kind != isNumber {
			p.bad(frames, "records.why.kind", text.New("records.allow.frames", difficultyAllowed))
			return
		}
		out.Frames = degree(frames)
	}
}

func (p *parser) gap(n *node) scheduler.Gap {
	var g scheduler.Gap
	o := p.object(n)
	g.At = choice(p.reader, o.need("at", oneOf(gapPlaces)), gapPlaces)
	mm, peg := o.get("mm"), o.get("peg")
	if mm != nil {
		g.MM = p.number(mm, 0, 100, "mm")
	}
	if peg != nil {
		g.Peg = choice(p.reader, peg, pegs)
	}
	if mm == nil && peg == nil {
		o.need("mm", text.New("records.allow.gap", joinWords(pegs)))
	}
	o.done()
	return g
}

var uuidAllowed = text.New("records.allow.uuid", "6f1ed002-ab56-4d5c-9f0a-2c5f6d3b1a77")

func (p *parser) uuid(n *node) string {
	if !p.isKind(n, isString, uuidAllowed) {
		return ""
	}
	u, err := uuid.Parse(n.text)
	if err != nil || len(n.text) != 36 {
		p.lost = true
		p.bad(n, "records.why.no-uuid", uuidAllowed)
		return ""
	}
	return u.String()
}

// openingID reads an opening's own id, which no other may have.
func (p *parser) openingID(n *node) string {
	id := p.uuid(n)
	if id == "" {
		return ""
	}
	if first := p.openings[id]; first != nil {
		p.bad(n, "records.why.id-taken", text.New("records.allow.id-once"), first.parent.path())
		return id
	}
	p.openings[id] = n
	return id
}

// supersedes reads the id of the opening that another one corrects. It stands
// before it in the list of the same box, as it was recorded before it.
func (p *parser) supersedes(n *node, b *scheduler.Box) string {
	id := p.uuid(n)
	if id == "" {
		return ""
	}
	known := false
	for i := range b.Openings {
		known = known || b.Openings[i].ID == id
		if b.Openings[i].Supersedes == id {
			p.bad(n, "records.why.superseded", text.New("records.allow.correction"), b.Openings[i].ID)
		}
	}
	if !known {
		p.unknown(n, "records.why.not-above", text.New("records.allow.above"))
	}
	return id
}

// openingSpace is the namespace of ids that OpeningID derives.
var openingSpace = uuid.MustParse("4a3c1f0e-9d55-5b7e-8c46-0d2f6b7a9e13")

// OpeningID derives the id of an opening that came without one from where and
// when it was, so that reading it a second time gives the same id. Nth counts
// the openings without ids of that box on that day, from 0.
func OpeningID(club, apiary, hive, box string, on scheduler.Date, nth int) string {
	parts := []string{club, apiary, hive, box, on.String(), strconv.Itoa(nth)}
	return uuid.NewSHA1(openingSpace, []byte(strings.Join(parts, "\x00"))).String()
}

// giveIDs gives ids to the openings of b that came without. Of several boxes
// with one name in one list, the later ones have their number in the mark.
func (p *parser) giveIDs(b *scheduler.Box, on standing, n *node) {
	mark := b.Name
	if nth := on.names[b.Name]; nth > 0 {
		mark += "\x00" + strconv.Itoa(nth)
	}
	on.names[b.Name]++
	var count map[scheduler.Date]int
	for i := range b.Openings {
		o := &b.Openings[i]
		if o.ID != "" || o.On == 0 {
			continue
		}
		if count == nil {
			count = make(map[scheduler.Date]int)
		}
		o.ID = OpeningID(p.club.Name, on.apiary, on.hive, mark, o.On, count[o.On])
		count[o.On]++
		if p.openings[o.ID] != nil {
			p.bad(n, "records.why.id-clash", text.New("records.allow.id-once"), o.On.String())
		}
		p.openings[o.ID] = n
	}
}
