package records

import (
	"bytes"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// Parse reads a club's records from the JSON document. Ids are given in the
// order of the document, from 1, so that equal documents give equal clubs; an
// opening without an id gets one from OpeningID. The error is Problems.
func Parse(data []byte) (*scheduler.Club, error) {
	p := &parser{
		reader:   &reader{data: bytes.TrimPrefix(data, []byte("\ufeff"))},
		club:     &scheduler.Club{ID: 1},
		members:  map[string]int64{},
		apiaries: map[string]int64{},
		hives:    map[hiveKey]int64{},
		kinds:    map[string]bool{},
		openings: map[string]*node{},

		apiaryNames: map[string]*node{},
	}
	p.untilEnough(func() {
		if root := p.tree(); root != nil {
			p.document(root)
		}
	})
	if err := p.problems.asError(); err != nil {
		return nil, err
	}
	return p.club, nil
}

// parser builds a club from a document's tree.
type parser struct {
	*reader
	club     *scheduler.Club
	members  map[string]int64 // by e-mail address in lower case
	apiaries map[string]int64
	hives    map[hiveKey]int64
	kinds    map[string]bool
	openings map[string]*node // ids seen, with where
	lastHive int64
	// lost is set once a name could not be read: then a reference that finds
	// nothing proves nothing, and is not reported beside it.
	lost bool

	apiaryNames map[string]*node
	care        []care
	befallen    []befallen
}

type hiveKey struct{ apiary, hive string }

// care is a member's word that they look after an apiary.
type care struct {
	member int64
	apiary *node
}

func (p *parser) document(root *node) {
	doc := p.object(root)
	clubNode := doc.need("club", text.New("records.allow.club"))
	rulesNode := doc.get("rules")
	apiaries := p.list(doc.need("apiaries", text.New("records.allow.apiaries")), text.New("records.allow.list-apiaries"))
	spare := p.list(doc.get("boxes"), text.New("records.allow.list-spare"))
	visits := p.list(doc.get("visits"), text.New("records.allow.list-visits"))
	told := p.list(doc.get("told"), text.New("records.allow.list-told"))
	doc.done()

	p.nameHives(apiaries)
	if clubNode != nil {
		p.clubObject(p.object(clubNode))
	}
	p.club.Rules = p.rules(rulesNode)
	for _, n := range apiaries {
		p.apiary(n)
	}
	p.keepers(apiaries)
	names := map[string]int{}
	for _, n := range spare {
		p.spareBox(n, names)
	}
	p.numberBoxes()
	p.events()
	p.visits(visits)
	p.told(told)
}

// nameHives finds the names of all apiaries and hives ahead of what is in
// them, because boxes may have come from a hive further down.
func (p *parser) nameHives(apiaries []*node) {
	for i, a := range apiaries {
		name := ownName(a)
		if _, twice := p.apiaries[name]; name == "" || twice {
			p.lost = true
			continue
		}
		p.apiaries[name] = int64(i + 1)
	}
	next := int64(1)
	for _, a := range apiaries {
		hives := a.field("hives")
		if hives == nil {
			continue
		}
		for h := range hives.items() {
			key := hiveKey{ownName(a), ownName(h)}
			if _, twice := p.hives[key]; !twice {
				p.hives[key] = next
			}
			next++
		}
	}
}

// called reads the name of something that others refer to by it.
func (p *parser) called(n *node) string {
	name := p.name(n)
	p.lost = p.lost || name == ""
	return name
}

// unknown reports a reference that finds nothing.
func (p *parser) unknown(n *node, why string, allowed text.Text, args ...any) {
	if !p.lost {
		p.bad(n, why, allowed, args...)
	}
}

func ownName(n *node) string {
	if f := n.field("name"); f != nil && f.kind == isString {
		return f.text
	}
	return ""
}

// once reports a second name that must be the only one of its kind.
func (p *parser) once(seen map[string]*node, name string, n *node, allowed text.Text) {
	if name == "" || n == nil {
		return
	}
	if first := seen[name]; first != nil {
		line, _ := p.place(int(first.offset))
		p.lost = true
		p.bad(n, "records.why.name-taken", allowed, first.parent.path(), line)
		return
	}
	seen[name] = n
}
