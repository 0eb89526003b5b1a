package records

import (
	"fmt"

	"pryday/scheduler"
)

// standing is the hive that a box is listed under; a zero one for none.
type standing struct {
	apiary, hive string
	id           int64
	position     int            // 1 the lowest
	names        map[string]int // of the boxes of the same list: how many so far
}

// box reads one box, and returns the node of its name for whoever checks that
// it is the only one.
func (p *parser) box(n *node, on standing) (scheduler.Box, *node) {
	o := p.object(n)
	var b scheduler.Box
	name := o.need("name", nameAllowed)
	if name != nil {
		b.Name = p.called(name)
	}
	if f := o.need("kind", p.knownKinds()); f != nil {
		b.Kind = p.kindOf(f)
	}
	if f := o.need("set_up_on", "the day on which it was put together clean"); f != nil {
		b.SetUpOn = p.date(f)
	}
	if f := o.get("retired_on"); f != nil {
		b.RetiredOn = p.notBefore(f, &b)
	}
	for _, f := range p.list(o.get("repaired"), "days") {
		b.Repaired = append(b.Repaired, p.notBefore(f, &b))
	}
	places := o.get("places")
	p.places(places, &b, on)
	openings := o.need("openings", "a list [ ... ] of openings, which may be empty")
	for _, f := range p.list(openings, "openings") {
		p.opening(f, &b)
	}
	o.done()
	p.giveIDs(&b, on, n)
	p.placeBox(&b, on, n, places)
	return b, name
}

func (p *parser) kindOf(n *node) string {
	if !p.isKind(n, isString, p.knownKinds()) {
		return ""
	}
	if _, ok := p.club.Kind(n.text); !ok {
		p.bad(n, "is not a known kind", p.knownKinds()+"; or a kind under club.kinds")
	}
	return n.text
}

// notBefore reads a day that must not lie before the box was set up.
func (p *parser) notBefore(n *node, b *scheduler.Box) scheduler.Date {
	d := p.date(n)
	if d != 0 && d < b.SetUpOn {
		p.bad(n, "is before the box was set up", "a day from set_up_on, "+b.SetUpOn.String()+", on")
	}
	return d
}

// places reads where a box has been.
func (p *parser) places(n *node, b *scheduler.Box, on standing) {
	last := scheduler.Date(0)
	for _, item := range p.list(n, "places") {
		o := p.object(item)
		var at scheduler.BoxPlace
		if f := o.need("from", "the first day there"); f != nil {
			at.From = p.notBefore(f, b)
			if at.From != 0 && at.From < last {
				p.bad(f, "is before the place above it", "places in the order of their days")
			}
			last = at.From
		}
		at.Where = choice(p.reader, o.need("where", joinWords(places)), places)
		switch at.Where {
		case scheduler.OnHive:
			at.HiveID = p.hiveRef(o, on)
			if f := o.get("position"); f != nil {
				at.Position = p.whole(f, 1, 100, "")
			}
		case "":
			for _, key := range []string{"apiary", "hive", "position", "lent_to", "until"} {
				o.get(key)
			}
		case scheduler.Lent:
			if f := o.get("lent_to"); f != nil {
				at.LentTo = p.words(f)
			}
			if f := o.get("until"); f != nil {
				at.Until = p.date(f)
			}
		}
		o.done()
		b.Places = append(b.Places, at)
	}
}

// hiveRef reads "apiary" and "hive" of a place; left out, they mean the hive
// that the box is listed under.
func (p *parser) hiveRef(o *object, on standing) int64 {
	key := hiveKey{on.apiary, on.hive}
	if f := o.get("apiary"); f != nil && p.isKind(f, isString, p.apiaryList()) {
		key.apiary = f.text
	}
	h := o.get("hive")
	if h != nil && p.isKind(h, isString, "the name of a hive") {
		key.hive = h.text
	}
	id := p.hives[key]
	if id == 0 && o.n != nil {
		at := o.n
		if h != nil {
			at = h
		}
		p.unknown(at, fmt.Sprintf("names no hive (apiary %q, hive %q)", clip(key.apiary), clip(key.hive)), "a hive of this document, with its apiary")
	}
	return id
}

func offHive(b *scheduler.Box) bool {
	return len(b.Places) > 0 && b.Places[len(b.Places)-1].Where != scheduler.OnHive
}

// settle makes what a box says about its places agree with where it is listed
// and with the day it was retired.
func (p *parser) placeBox(b *scheduler.Box, on standing, n, places *node) {
	if b.RetiredOn != 0 && (len(b.Places) == 0 || b.Places[len(b.Places)-1].Where != scheduler.Retired) {
		if len(b.Places) == 0 && on.id != 0 {
			b.Places = []scheduler.BoxPlace{{From: b.SetUpOn, Where: scheduler.OnHive, HiveID: on.id, Position: on.position}}
		}
		b.Places = append(b.Places, scheduler.BoxPlace{From: b.RetiredOn, Where: scheduler.Retired})
	}
	if len(b.Places) == 0 {
		if on.id == 0 {
			b.Places = []scheduler.BoxPlace{{From: b.SetUpOn, Where: scheduler.InStore}}
		}
		return
	}
	last := b.Places[len(b.Places)-1]
	switch {
	case last.Where == scheduler.Retired && b.RetiredOn == 0:
		b.RetiredOn = last.From
	case last.Where == scheduler.Retired && b.RetiredOn != last.From && last.From != 0:
		p.bad(n.field("retired_on"), "is not the day of its last place, "+last.From.String(), "the same day twice, or one of the two")
	case last.Where == scheduler.OnHive && last.HiveID != on.id && last.HiveID != 0:
		at := n
		if places != nil {
			at = places.items[len(places.items)-1]
		}
		p.bad(at, "is its last place, but the box is not listed under that hive", "boxes listed under the hive that they stand on now")
	}
}

// spareBox reads a box that stands on no hive.
func (p *parser) spareBox(n *node, names map[string]int) {
	b, _ := p.box(n, standing{names: names})
	p.club.Spare = append(p.club.Spare, b)
}

// numberBoxes gives every box its id, those on hives first.
func (p *parser) numberBoxes() {
	next := int64(1)
	give := func(boxes []scheduler.Box) {
		for i := range boxes {
			boxes[i].ID = next
			next++
		}
	}
	for a := range p.club.Apiaries {
		for h := range p.club.Apiaries[a].Hives {
			give(p.club.Apiaries[a].Hives[h].Boxes)
		}
	}
	give(p.club.Spare)
}
