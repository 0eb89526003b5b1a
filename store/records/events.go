package records

import (
	"math"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// befallen is a hive with what its colony is said to have gone through, read once all
// hives and boxes are known.
type befallen struct {
	apiary, hive string
	id           int64
	events       *node
}

// events reads what happened to colonies.
func (p *parser) events() {
	if len(p.befallen) == 0 {
		return
	}
	keys := boxKeys(p.club)
	for _, x := range p.befallen {
		last := scheduler.Date(0)
		_, h := p.club.HiveByID(x.id)
		for _, n := range p.list(x.events, text.New("records.allow.list-events")) {
			e := p.event(n, x, keys)
			if e.On != 0 && e.On < last {
				p.bad(n.field("on"), "records.why.before-event", text.New("records.allow.events-in-order"))
			}
			last = e.On
			h.Events = append(h.Events, e)
		}
	}
}

func (p *parser) event(n *node, x befallen, keys map[boxKey]int64) scheduler.ColonyEvent {
	var e scheduler.ColonyEvent
	o := p.object(n)
	if f := o.need("id", text.New("records.allow.event-id")); f != nil {
		e.ID = p.openingID(f)
	}
	if f := o.need("on", text.New("records.allow.event-day")); f != nil {
		e.On = p.date(f)
	}
	e.What = choice(p.reader, o.need("what", oneOf(scheduler.Fates)), scheduler.Fates)
	if f := o.get("other"); f != nil {
		other := p.object(f)
		e.OtherID = p.hiveRef(other, standing{apiary: x.apiary, hive: x.hive})
		other.done()
	}
	if f := o.get("from_apiary"); f != nil && p.isKind(f, isString, p.apiaryList()) {
		if e.FromApiary = p.apiaries[f.text]; e.FromApiary == 0 {
			p.unknown(f, "records.why.no-apiary", p.apiaryList())
		}
	}
	if f := o.get("queen"); f != nil {
		e.Queen = choice(p.reader, f, queens)
	}
	for _, f := range p.list(o.get("boxes"), text.New("records.allow.list-event-boxes")) {
		e.Boxes = append(e.Boxes, p.eventBox(f, x.apiary, keys))
	}
	e.Under = p.boxRefs(o.get("under"), x.apiary, keys)
	if f := o.get("alone"); f != nil {
		e.Alone = p.period(f)
	}
	if f := o.get("ended"); f != nil {
		e.Ended = p.truth(f)
	}
	if f := o.get("whom"); f != nil {
		e.Whom = p.words(f)
	}
	if f := o.get("note"); f != nil {
		e.Note = p.words(f)
	}
	if f := o.get("by"); f != nil {
		e.By = p.memberRef(f)
	}
	o.done()
	return e
}

func (p *parser) eventBox(n *node, apiary string, keys map[boxKey]int64) scheduler.EventBox {
	o := p.object(n)
	b := scheduler.EventBox{BoxID: p.boxRef(o, apiary, keys)}
	if f := o.need("position", text.New("records.allow.event-position")); f != nil {
		b.Position = p.whole(f, 1, 100, "")
	}
	if f := o.get("listed"); f != nil {
		b.Listed = p.truth(f)
	}
	if f := o.get("openings"); f != nil {
		b.Openings = p.whole(f, 0, math.MaxInt32, "")
	}
	o.done()
	return b
}
