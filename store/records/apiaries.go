package records

import (
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

func (p *parser) apiary(n *node) {
	o := p.object(n)
	a := scheduler.Apiary{ID: int64(len(p.club.Apiaries) + 1)}
	if f := o.need("name", nameAllowed); f != nil {
		a.Name = p.called(f)
		p.once(p.apiaryNames, a.Name, f, text.New("records.allow.name-once-club"))
	}
	number := func(key string, least, most float64, unit string) float64 {
		f := o.need(key, numberAllowed(least, most, unit))
		if f == nil {
			return 0
		}
		return p.number(f, least, most, unit)
	}
	a.Latitude = number("latitude", -90, 90, "north")
	a.Longitude = number("longitude", -180, 180, "east")
	a.ElevationM = number("elevation_m", -430, 6000, "m")
	if z := o.need("timezone", zoneAllowed); z != nil {
		a.Timezone = p.zone(z)
	}
	if f := o.get("season_shift_days"); f != nil {
		a.SeasonShiftDays = p.whole(f, -183, 183, "days")
	}
	p.region(o.get("region"), &a)
	a.Seen = p.seenDays(o.get("seen"))
	a.Weekdays = p.weekdaySet(o.get("weekdays"))
	if f := o.get("travel_hours"); f != nil {
		v := p.number(f, 0, 24, "hours")
		a.TravelHours = &v
	}
	if f := o.get("trip"); f != nil {
		a.Trip = p.name(f)
	}
	if f := o.get("access_notes"); f != nil {
		a.AccessNotes = p.words(f)
	}
	o.get("keepers") // see keepers
	a.NoGo = p.periods(o.get("no_go"))
	a.Standstill = p.periods(o.get("standstill"))
	hives := p.list(o.need("hives", text.New("records.allow.hives")), text.New("records.allow.list-hives"))
	o.done()
	p.club.Apiaries = append(p.club.Apiaries, a)

	at := &p.club.Apiaries[len(p.club.Apiaries)-1]
	names := map[string]*node{}
	for _, h := range hives {
		p.hive(h, at, names)
	}
}

func (p *parser) hive(n *node, a *scheduler.Apiary, names map[string]*node) {
	o := p.object(n)
	p.lastHive++
	h := scheduler.Hive{ID: p.lastHive}
	if f := o.need("name", nameAllowed); f != nil {
		h.Name = p.called(f)
		p.once(names, h.Name, f, text.New("records.allow.name-once-apiary"))
	}
	if f := o.get("bee_space"); f != nil {
		h.BeeSpace = choice(p.reader, f, beeSpaces)
	}
	h.LeaveAlone = p.periods(o.get("leave_alone"))
	h.Requeened = p.dates(o.get("requeened"))
	if f := o.get("retired_on"); f != nil {
		h.RetiredOn = p.date(f)
	}
	if f := o.get("events"); f != nil {
		p.befallen = append(p.befallen, befallen{a.Name, h.Name, h.ID, f})
	}
	boxes := p.list(o.need("boxes", text.New("records.allow.boxes")), text.New("records.allow.list-boxes"))
	o.done()

	marks, all := map[string]*node{}, map[string]int{}
	for i, b := range boxes {
		box, name := p.box(b, standing{a.Name, h.Name, h.ID, i + 1, all})
		if box.RetiredOn != 0 || offHive(&box) {
			p.club.Spare = append(p.club.Spare, box)
			continue
		}
		p.once(marks, box.Name, name, text.New("records.allow.name-once-hive"))
		h.Boxes = append(h.Boxes, box)
	}
	a.Hives = append(a.Hives, h)
}

// keepers says who looks after each apiary: the members who name it, in their
// order, or in the order of the apiary's own list, the lead first.
func (p *parser) keepers(apiaries []*node) {
	for _, c := range p.care {
		id, ok := p.apiaries[c.apiary.text]
		if !ok {
			p.unknown(c.apiary, "records.why.no-apiary", p.apiaryList())
			continue
		}
		a := &p.club.Apiaries[id-1]
		if contains(a.Keepers, c.member) {
			p.bad(c.apiary, "records.why.twice", text.New("records.allow.apiary-once"))
			continue
		}
		a.Keepers = append(a.Keepers, c.member)
	}
	for i, n := range apiaries {
		list := n.field("keepers")
		if list == nil {
			continue
		}
		a := &p.club.Apiaries[i]
		var order []int64
		for _, item := range p.list(list, text.New("records.allow.list-addresses")) {
			id := p.memberRef(item)
			if id != 0 && (!contains(a.Keepers, id) || contains(order, id)) {
				p.bad(item, "records.why.not-its-own", text.New("records.allow.keepers"))
			}
			order = append(order, id)
		}
		if !p.lost && list.kind == isArray && len(order) != len(a.Keepers) {
			p.bad(list, "records.why.keepers", text.New("records.allow.all-keepers"), len(order), len(a.Keepers))
		}
		a.Keepers = order
	}
}

func (p *parser) apiaryList() text.Text {
	var names []string
	for i := range p.club.Apiaries {
		if i == 10 {
			names = append(names, "...")
			break
		}
		names = append(names, p.club.Apiaries[i].Name)
	}
	if names == nil {
		return text.New("records.allow.no-apiary")
	}
	return text.New("records.allow.these", strings.Join(names, ", "))
}

// memberRef reads the e-mail address of a member of the club.
func (p *parser) memberRef(n *node) int64 {
	allowed := text.New("records.allow.member")
	if !p.isKind(n, isString, allowed) {
		return 0
	}
	id, ok := p.members[strings.ToLower(n.text)]
	if !ok {
		p.unknown(n, "records.why.no-member", allowed)
	}
	return id
}

func contains(ids []int64, id int64) bool {
	for _, v := range ids {
		if v == id {
			return true
		}
	}
	return false
}
