package records

import (
	"fmt"
	"strings"

	"pryday/scheduler"
)

func (p *parser) clubObject(o *object) {
	p.club.Name = p.name(o.need("name", nameAllowed))
	names := map[string]*node{}
	for i, n := range p.list(o.need("members", "a list [ ... ] of members, which may be empty"), "members") {
		p.member(n, int64(i+1), names)
	}
	for _, n := range p.list(o.get("kinds"), "kinds of box") {
		p.boxKind(n)
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
		p.once(emails, strings.ToLower(m.Email), e, "the club, whether in capitals or not")
		if m.Email != "" {
			p.members[strings.ToLower(m.Email)] = id
		}
	}
	m.Role = choice(p.reader, o.need("role", joinWords(roles)), roles)
	for _, a := range p.list(o.get("apiaries"), "names of apiaries") {
		if p.isKind(a, isString, "the name of an apiary") {
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
	for _, d := range p.list(o.get("days_before"), "whole numbers") {
		v := p.whole(d, 0, 60, "days")
		if seen[v] && d.kind == isNumber {
			p.bad(d, "stands twice", "each number of days once")
		}
		seen[v] = true
		out.DaysBefore = append(out.DaysBefore, v)
	}
	if s := o.get("send_at"); s != nil {
		v := p.clock(s)
		out.SendAt = &v
	}
	for _, k := range p.list(o.get("mute"), "kinds of message") {
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
	o.done()
	return out
}

func (p *parser) hours(n *node) *scheduler.HoursOfDay {
	const allowed = "a time of day such as 07:00, from 00:00 to 23:59"
	o := p.object(n)
	from, until := o.need("from", allowed), o.need("until", allowed)
	out := &scheduler.HoursOfDay{}
	if from != nil && until != nil {
		out.From, out.Until = p.clock(from), p.clock(until)
		if out.Until <= out.From && until.kind == isString {
			p.bad(until, "is not after "+out.From.String(), "a later time on the same day")
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
			p.bad(f, "is the name of another kind of the club", "each name once in the club")
		}
		p.kinds[k.Name] = true
	}
	number := func(key string, least, most float64, unit string) float64 {
		f := o.need(key, fmt.Sprintf("a number from %s to %s %s", short(least), short(most), unit))
		if f == nil {
			return 0
		}
		return p.number(f, least, most, unit)
	}
	k.DepthMM = number("depth_mm", 20, 1000, "mm")
	k.EmptyKg = number("empty_kg", 0.1, 200, "kg")
	k.FullKg = number("full_kg", 0.1, 200, "kg")
	if f := o.need("frames", "a whole number from 0 to 60"); f != nil {
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
		p.bad(o.n.field("full_kg"), "is less than empty_kg", "at least "+short(k.EmptyKg)+" kg")
	}
	o.done()
	p.club.Kinds = append(p.club.Kinds, k)
}
