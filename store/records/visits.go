package records

import (
	"math"
	"slices"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// boxKey is how a visit names a box: by its hive, or, when it stands on none,
// by its name alone and its number among the boxes of that name.
type boxKey struct {
	apiary, hive, box string
	nth               int
}

// boxKeys lists every box of a club under its key.
func boxKeys(c *scheduler.Club) map[boxKey]int64 {
	keys := map[boxKey]int64{}
	for a := range c.Apiaries {
		for h := range c.Apiaries[a].Hives {
			hive := &c.Apiaries[a].Hives[h]
			for b := range hive.Boxes {
				keys[boxKey{c.Apiaries[a].Name, hive.Name, hive.Boxes[b].Name, 1}] = hive.Boxes[b].ID
			}
		}
	}
	count := map[string]int{}
	for b := range c.Spare {
		count[c.Spare[b].Name]++
		keys[boxKey{box: c.Spare[b].Name, nth: count[c.Spare[b].Name]}] = c.Spare[b].ID
	}
	return keys
}

func (p *parser) visits(list []*node) {
	if len(list) == 0 {
		return
	}
	keys, uids := boxKeys(p.club), map[string]*node{}
	for i, n := range list {
		v := scheduler.Visit{ID: int64(i + 1)}
		o := p.object(n)
		apiary := ""
		if f := o.need("apiary", p.apiaryList()); f != nil && p.isKind(f, isString, p.apiaryList()) {
			apiary = f.text
			v.ApiaryID = p.apiaries[f.text]
			if v.ApiaryID == 0 {
				p.unknown(f, "records.why.no-apiary", p.apiaryList())
			}
		}
		if f := o.get("uid"); f != nil {
			v.UID = p.name(f)
			p.once(uids, v.UID, f, text.New("records.allow.name-once-document"))
		}
		if f := o.need("on", text.New("records.allow.visit-day")); f != nil {
			v.On = p.date(f)
		}
		v.Status = choice(p.reader, o.need("status", oneOf(statuses)), statuses)
		if f := o.get("sequence"); f != nil {
			v.Sequence = p.whole(f, 0, math.MaxInt32, "")
		}
		if f := o.get("pinned"); f != nil {
			v.Pinned = p.truth(f)
		}
		if f := o.get("for"); f != nil {
			v.For = choice(p.reader, f, duties)
		}
		if f := o.get("seen_on"); f != nil {
			v.FirstSeen = p.date(f)
		}
		v.Who = p.memberList(o.get("who"))
		if f := o.get("no_time"); f != nil {
			v.NoTime = p.truth(f)
		}
		p.saidOf(o, &v)
		for _, f := range p.list(o.get("boxes"), text.New("records.allow.list-visit-boxes")) {
			v.Boxes = append(v.Boxes, p.visitBox(f, apiary, keys))
		}
		v.NotBoxes = p.boxRefs(o.get("not_boxes"), apiary, keys)
		v.NotOpened = p.boxRefs(o.get("not_opened"), apiary, keys)
		for _, f := range p.list(o.get("ticks"), text.New("records.allow.list-ticks")) {
			v.Ticks = append(v.Ticks, p.tick(f, apiary, keys))
		}
		slices.SortFunc(v.Ticks, scheduler.CompareTicks)
		o.done()
		p.club.Visits = append(p.club.Visits, v)
	}
}

// saidOf reads what people said of a visit: who goes, who cannot, and until
// when it is called off.
func (p *parser) saidOf(o *object, v *scheduler.Visit) {
	if f := o.get("taken"); f != nil {
		v.Taken = p.memberList(f)
		for _, id := range v.Taken { // who says so goes
			if id != 0 && !contains(v.Who, id) {
				v.Who = append(v.Who, id)
			}
		}
	}
	if f := o.get("refused"); f != nil {
		v.Refused = p.memberList(f)
		for _, id := range v.Refused {
			if id != 0 && contains(v.Who, id) {
				p.bad(f, "records.why.goes", text.New("records.allow.not-who"))
			}
		}
	}
	off := v.Status == scheduler.Cancelled
	if f := o.get("off_until"); f != nil {
		v.OffUntil = p.date(f)
		if !off {
			p.bad(f, "records.why.not-cancelled", text.New("records.allow.day-if-cancelled"))
		}
	}
	if f := o.get("off_from"); f != nil {
		v.OffFrom = choice(p.reader, f, []scheduler.VisitStatus{scheduler.Tentative, scheduler.Confirmed})
		if !off {
			p.bad(f, "records.why.not-cancelled", text.New("records.allow.state-if-cancelled"))
		}
	}
}

// memberList reads a list of members, each once.
func (p *parser) memberList(n *node) (out []int64) {
	for _, f := range p.list(n, text.New("records.allow.list-addresses")) {
		id := p.memberRef(f)
		if id != 0 && contains(out, id) {
			p.bad(f, "records.why.twice", text.New("records.allow.member-once"))
		}
		out = append(out, id)
	}
	return out
}

func (p *parser) visitBox(n *node, apiary string, keys map[boxKey]int64) scheduler.VisitBox {
	var out scheduler.VisitBox
	o := p.object(n)
	out.BoxID = p.boxRef(o, apiary, keys)
	if f := o.get("due"); f != nil {
		out.Due = p.date(f)
	}
	if f := o.get("reason"); f != nil {
		out.Reason = choice(p.reader, f, reasons)
	}
	if f := o.get("odds"); f != nil {
		out.Odds = p.number(f, 0, 1, "")
	}
	if f := o.get("stuck"); f != nil {
		out.Stuck = p.number(f, 0, 1, "")
	}
	o.done()
	return out
}

// tick reads a tick of a visit's checklist: of a box, of a hive, or of neither.
func (p *parser) tick(n *node, apiary string, keys map[boxKey]int64) scheduler.Tick {
	var out scheduler.Tick
	o := p.object(n)
	out.Step = choice(p.reader, o.need("step", oneOf(scheduler.Steps)), scheduler.Steps)
	switch hive := o.get("hive"); {
	case o.has("box"):
		out.BoxID = p.boxRef(o, apiary, keys)
	case hive != nil && p.isKind(hive, isString, text.New("records.allow.box-hive")):
		key := hiveKey{apiary, hive.text}
		if f := o.get("apiary"); f != nil && p.isKind(f, isString, text.New("records.allow.box-apiary")) {
			key.apiary = f.text
		}
		if out.HiveID = p.hives[key]; out.HiveID == 0 && p.apiaries[key.apiary] != 0 {
			p.unknown(hive, "records.why.no-hive", text.New("records.allow.hive"), quoted(key.apiary), quoted(key.hive))
		}
	}
	if f := o.get("by"); f != nil {
		out.By = p.memberRef(f)
	}
	if f := o.need("on", text.New("records.allow.tick-day")); f != nil {
		out.On = p.date(f)
	}
	o.done()
	return out
}

func (p *parser) boxRefs(n *node, apiary string, keys map[boxKey]int64) (out []int64) {
	for _, f := range p.list(n, text.New("records.allow.list-not-boxes")) {
		ref := p.object(f)
		out = append(out, p.boxRef(ref, apiary, keys))
		ref.done()
	}
	return out
}

// boxRef reads a box that a visit names.
func (p *parser) boxRef(o *object, apiary string, keys map[boxKey]int64) int64 {
	key := boxKey{nth: 1}
	if f := o.need("box", text.New("records.allow.box-name")); f != nil && p.isKind(f, isString, text.New("records.allow.box-name")) {
		key.box = f.text
	}
	if f := o.get("hive"); f != nil && p.isKind(f, isString, text.New("records.allow.box-hive")) {
		key.apiary, key.hive = apiary, f.text
	}
	if f := o.get("apiary"); f != nil && p.isKind(f, isString, text.New("records.allow.box-apiary")) {
		key.apiary = f.text
	}
	if f := o.get("nth"); f != nil {
		key.nth = p.whole(f, 1, math.MaxInt32, "")
	}
	id := keys[key]
	if id == 0 && o.n != nil && key.box != "" && (p.apiaries[apiary] != 0 || key.hive == "") {
		p.unknown(o.n, "records.why.no-box", text.New("records.allow.box"), quoted(key.apiary), quoted(key.hive), quoted(key.box))
	}
	return id
}
