package records

import (
	"pryday/scheduler"
	"pryday/scheduler/text"
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
	if f := o.need("kind", kindsAllowed(p.club)); f != nil {
		b.Kind = p.kindOf(f)
	}
	if f := o.need("set_up_on", text.New("records.allow.set-up")); f != nil {
		b.SetUpOn = p.date(f)
	}
	if f := o.get("retired_on"); f != nil {
		b.RetiredOn = p.notBefore(f, &b)
	}
	for _, f := range p.list(o.get("repaired"), text.New("records.allow.list-days")) {
		b.Repaired = append(b.Repaired, p.notBefore(f, &b))
	}
	p.guess(o, &b)
	places := o.get("places")
	p.places(places, &b, on)
	openings := o.need("openings", text.New("records.allow.openings"))
	for _, f := range p.list(openings, text.New("records.allow.list-openings")) {
		p.opening(f, &b)
	}
	o.done()
	p.giveIDs(&b, on, n)
	p.placeBox(&b, on, n, places)
	return b, name
}

// guess reads whether the day of setting up is one, and whether somebody answered.
func (p *parser) guess(o *object, b *scheduler.Box) {
	if f := o.get("guessed_on"); f != nil {
		b.GuessedOn = p.notBefore(f, b)
	}
	f := o.get("guess_answered")
	if f == nil {
		return
	}
	if b.GuessAnswered = p.truth(f); b.GuessAnswered && !o.has("guessed_on") {
		p.bad(f, "records.why.answer-to-no-guess", text.New("records.allow.guess-answered"))
	}
}

func (p *parser) kindOf(n *node) string {
	if !p.isKind(n, isString, kindsAllowed(p.club)) {
		return ""
	}
	if _, ok := p.club.Kind(n.text); !ok {
		p.bad(n, "records.why.no-kind", text.New("records.allow.kinds", kindsAllowed(p.club)))
	}
	return n.text
}

// notBefore reads a day that must not lie before the box was set up.
func (p *parser) notBefore(n *node, b *scheduler.Box) scheduler.Date {
	d := p.date(n)
	if d != 0 && d < b.SetUpOn {
		p.bad(n, "records.why.before-set-up", text.New("records.allow.from-set-up", b.SetUpOn.String()))
	}
	return d
}

// places reads where a box has been.
func (p *parser) places(n *node, b *scheduler.Box, on standing) {
	last := scheduler.Date(0)
	for _, item := range p.list(n, text.New("records.allow.list-places")) {
		o := p.object(item)
		var at scheduler.BoxPlace
		if f := o.need("from", text.New("records.allow.first-there")); f != nil {
			at.From = p.notBefore(f, b)
			if at.From != 0 && at.From < last {
				p.bad(f, "records.why.before-place", text.New("records.allow.places-in-order"))
			}
			last = at.From
		}
		at.Where = choice(p.reader, o.need("where", oneOf(places)), places)
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
	if h != nil && p.isKind(h, isString, text.New("records.allow.hive-name")) {
		key.hive = h.text
	}
	id := p.hives[key]
	if id == 0 && o.n != nil {
		at := o.n
		if h != nil {
			at = h
		}
		p.unknown(at, "records.why.no-hive", text.New("records.allow.hive"), quoted(key.apiary), quoted(key.hive))
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
		p.bad(n.field("retired_on"), "records.why.not-last-place", text.New("records.allow.same-day"), last.From.String())
	case last.Where == scheduler.OnHive && last.HiveID != on.id && last.HiveID != 0:
		at := n
		if places != nil {
			for at = range places.items() {
			}
		}
		p.bad(at, "records.why.listed-elsewhere", text.New("records.allow.under-its-hive"))
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
