package records

import (
	"pryday/scheduler"
	"pryday/scheduler/text"
)

// toldJSON is what a member was told last about a visit or an apiary.
type toldJSON struct {
	Member string         `json:"member"`
	Kind   string         `json:"kind"`
	Visit  string         `json:"visit,omitempty"` // uid
	Apiary string         `json:"apiary,omitempty"`
	On     string         `json:"on,omitempty"`
	ToldOn scheduler.Date `json:"told_on"`
}

func (e *encoder) told(t scheduler.Told) toldJSON {
	out := toldJSON{Kind: string(t.Kind), Visit: t.VisitUID, On: t.On.String(), ToldOn: t.ToldOn}
	if emails := e.emails([]int64{t.MemberID}); len(emails) == 1 {
		out.Member = emails[0]
	}
	if t.VisitUID != "" {
		return out
	}
	if a := e.club.Apiary(t.ApiaryID); a != nil {
		out.Apiary = a.Name
	} else {
		e.missing("apiary", t.ApiaryID)
	}
	return out
}

func (p *parser) told(list []*node) {
	visits := map[string]bool{}
	for _, v := range p.club.Visits {
		visits[v.UID] = v.UID != ""
	}
	for _, n := range list {
		p.club.Told = append(p.club.Told, p.toldOnce(n, visits))
	}
}

func (p *parser) toldOnce(n *node, visits map[string]bool) (t scheduler.Told) {
	o := p.object(n)
	if f := o.need("member", text.New("records.allow.member")); f != nil {
		t.MemberID = p.memberRef(f)
	}
	t.Kind = choice(p.reader, o.need("kind", oneOf(toldKinds)), toldKinds)
	if f := o.need("told_on", text.New("records.allow.told-day")); f != nil {
		t.ToldOn = p.date(f)
	}
	if f := o.get("on"); f != nil {
		t.On = p.date(f)
	}
	apiary := o.get("apiary")
	switch visit := o.get("visit"); {
	case visit != nil && apiary != nil:
		p.bad(apiary, "records.why.beside-visit", text.New("records.allow.visit-or-apiary"))
	case visit != nil:
		if t.VisitUID = p.name(visit); t.VisitUID != "" && !visits[t.VisitUID] {
			p.unknown(visit, "records.why.no-visit", text.New("records.allow.visit-uid"))
		}
	case apiary != nil:
		if p.isKind(apiary, isString, p.apiaryList()) {
			if t.ApiaryID = p.apiaries[apiary.text]; t.ApiaryID == 0 {
				p.unknown(apiary, "records.why.no-apiary", p.apiaryList())
			}
		}
	default:
		o.need("visit", text.New("records.allow.visit-or-apiary"))
	}
	o.done()
	return t
}
