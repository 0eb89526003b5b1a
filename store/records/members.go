package records

import (
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

func (p *parser) clubObject(o *object) {
	p.club.Name = p.name(o.need("name", nameAllowed))
	names := map[string]*node{}
	for i, n := range p.list(o.need("members", text.New("records.allow.members")), text.New("records.allow.list-members")) {
		p.member(n, int64(i+1), names)
	}
	for _, n := range p.list(o.get("kinds"), text.New("records.allow.list-kinds")) {
		p.boxKind(n)
	}
	if f := o.get("recalibration"); f != nil {
		p.club.Recalibration = p.recalibration(f)
	}
	o.done()
}

func (p *parser) member(n *node, id int64, emails map[string]*node) {
	o := p.object(n)
	m := scheduler.Member{ID: id, PersonID: id}
	m.Name = p.name(o.need("name", nameAllowed))
	if e := o.need("email", emailAllowed); e != nil {
		m.Email = p.email(e)
		p.lost = p.lost || m.Email == ""
		p.once(emails, strings.ToLower(m.Email), e, text.New("records.allow.address-once"))
		if m.Email != "" {
			p.members[strings.ToLower(m.Email)] = id
		}
	}
	if f := o.get("phone"); f != nil {
		m.Phone = p.phone(f)
	}
	m.Role = choice(p.reader, o.need("role", oneOf(roles)), roles)
	for _, a := range p.list(o.get("apiaries"), text.New("records.allow.list-names")) {
		if p.isKind(a, isString, text.New("records.allow.apiary-name")) {
			p.care = append(p.care, care{id, a})
		}
	}
	if z := o.get("timezone"); z != nil {
		m.Timezone = p.zone(z)
	}
	if l := o.get("language"); l != nil {
		m.Language = p.language(l)
	}
	if u := o.get("units"); u != nil {
		m.Units = choice(p.reader, u, units)
	}
	if f := o.get("preferences"); f != nil {
		m.Prefs = p.preferences(f)
	}
	m.NoGo = p.periods(o.get("no_go"))
	o.done()
	p.club.Members = append(p.club.Members, m)
}

func (p *parser) preferences(n *node) scheduler.Preferences {
	var out scheduler.Preferences
	o := p.object(n)
	seen := map[int]bool{}
	for _, d := range p.list(o.get("days_before"), text.New("records.allow.list-numbers")) {
		v := p.whole(d, 0, 60, "days")
		if seen[v] && d.kind == isNumber {
			p.bad(d, "records.why.twice", text.New("records.allow.days-once"))
		}
		seen[v] = true
		out.DaysBefore = append(out.DaysBefore, v)
	}
	if s := o.get("send_at"); s != nil {
		v := p.clock(s)
		out.SendAt = &v
	}
	for _, k := range p.list(o.get("mute"), text.New("records.allow.list-messages")) {
		out.Mute = append(out.Mute, choice(p.reader, k, mutable))
	}
	if d := o.get("paused_until"); d != nil {
		out.PausedUntil = p.date(d)
	}
	if l := o.get("long_mail"); l != nil {
		out.LongMail = p.truth(l)
	}
	if h := o.get("visit_hours"); h != nil {
		out.VisitHours = p.hours(h)
	}
	if i := o.get("invitations"); i != nil {
		out.Invitations = p.truth(i)
	}
	hours, visits := scheduler.FindRuleKey("capacity.hours_a_day"), scheduler.FindRuleKey("capacity.visits_a_week")
	if h := o.get("hours_a_day"); h != nil {
		out.HoursADay = p.number(h, hours.Least, hours.Most, "hours")
	}
	if v := o.get("visits_a_week"); v != nil {
		out.VisitsAWeek = p.whole(v, int(visits.Least), int(visits.Most), "")
	}
	out.Weekdays = p.weekdaySet(o.get("weekdays"))
	o.done()
	return out
}

func (p *parser) hours(n *node) *scheduler.HoursOfDay {
	o := p.object(n)
	from, until := o.need("from", clockAllowed), o.need("until", clockAllowed)
	out := &scheduler.HoursOfDay{}
	if from != nil && until != nil {
		out.From, out.Until = p.clock(from), p.clock(until)
		if out.Until <= out.From && until.kind == isString {
			p.bad(until, "records.why.not-after", text.New("records.allow.later-time"), out.From.String())
		}
	}
	o.done()
	return out
}

func (p *parser) boxKind(n *node) {
	o := p.object(n)
	var k scheduler.BoxKind
	if f := o.need("name", nameAllowed); f != nil {
		k.Name = p.name(f)
		if k.Name != "" && p.kinds[k.Name] {
			p.bad(f, "records.why.kind-taken", text.New("records.allow.name-once-club"))
		}
		p.kinds[k.Name] = true
	}
	number := func(key string, least, most float64, unit string) float64 {
		f := o.need(key, numberAllowed(least, most, unit))
		if f == nil {
			return 0
		}
		return p.number(f, least, most, unit)
	}
	k.DepthMM = number("depth_mm", 20, 1000, "mm")
	k.EmptyKg = number("empty_kg", 0.1, 200, "kg")
	k.FullKg = number("full_kg", 0.1, 200, "kg")
	if f := o.need("frames", wholeAllowed(0, 60, "")); f != nil {
		k.Frames = p.whole(f, 0, 60, "")
	}
	for _, d := range []struct {
		key string
		mm  *float64
	}{
		{"width_mm", &k.WidthMM},
		{"inside_mm", &k.InsideMM},
		{"frame_mm", &k.FrameMM},
		{"frame_length_mm", &k.FrameLengthMM},
		{"top_bar_mm", &k.TopBarMM},
		{"rest_mm", &k.RestMM},
	} {
		if f := o.get(d.key); f != nil {
			*d.mm = p.number(f, 0, 2000, "mm")
		}
	}
	if k.FullKg != 0 && k.FullKg < k.EmptyKg {
		p.bad(o.n.field("full_kg"), "records.why.lighter", text.New("records.allow.at-least-kg", short(k.EmptyKg)))
	}
	o.done()
	p.club.Kinds = append(p.club.Kinds, k)
}
