package notebook

import (
	"slices"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store/records"
)

// settle finds what is recorded already and what the table says twice, and refuses
// what contradicts either. A row that is refused no longer stands against others,
// hence again until nothing changes.
func (p *placing) settle() {
	for before := -1; before != len(p.why); {
		before = len(p.why)
		for _, b := range p.boxes {
			p.settleBox(b)
		}
	}
}

func (p *placing) settleBox(b *placed) {
	b.add = nil
	var recorded []scheduler.Opening
	if b.have != nil {
		recorded = scheduler.Effective(b.have.Openings)
	}
	days := map[scheduler.Date]*entry{}
	for _, e := range b.entries {
		if !e.opened || p.why[e.row] != nil {
			continue
		}
		if before := days[e.o.On]; before != nil {
			if !p.agrees(e, &before.o) {
				p.refuse(e.row, text.New("sheet.why.other-row", before.row+1, b.name, e.o.On))
			}
			continue
		}
		switch old, same := p.recorded(e, recorded); {
		case same:
			continue
		case b.have != nil && p.broughtBefore(e, b):
			continue
		case old != nil:
			p.refuse(e.row, text.New("sheet.why.other-answers", b.name, e.o.On, old.HowHard()))
			continue
		}
		days[e.o.On] = e
		b.add = append(b.add, e)
	}
}

// recorded finds the recorded opening of the day that says the same, or else any.
func (p *placing) recorded(e *entry, all []scheduler.Opening) (any *scheduler.Opening, same bool) {
	for i := range all {
		if all[i].On != e.o.On {
			continue
		}
		if any = &all[i]; p.agrees(e, any) {
			return any, true
		}
	}
	return any, false
}

// broughtBefore reports whether such a table brought the opening in before, which
// was corrected or taken back since.
func (p *placing) broughtBefore(e *entry, b *placed) bool {
	id := p.id(e, b)
	return slices.ContainsFunc(b.have.Openings, func(o scheduler.Opening) bool { return o.ID == id })
}

func (p *placing) id(e *entry, b *placed) string {
	apiary, hive := "", ""
	if b.on != nil {
		apiary, hive = b.on.site.name, b.on.name
	}
	return records.OpeningID(p.club.Name, apiary, hive, b.name, e.o.On, 0)
}

// agrees reports whether an opening says all that an entry says.
func (p *placing) agrees(e *entry, o *scheduler.Opening) bool {
	if e.said.shut != o.LeftShut && (e.said.shut || e.said.hard || e.said.joint) {
		return false
	}
	switch {
	case e.said.shut:
	case e.said.hard && !e.said.joint && !e.said.frames && e.o.Difficulty() != o.Difficulty(),
		e.said.joint && e.o.Joint != o.Joint, e.said.frames && e.o.Frames != o.Frames:
		return false
	}
	scraped := o.Scraped
	if scraped == "" {
		scraped = scheduler.ScrapedNone
	}
	return (!e.said.scraped || e.o.Scraped == scraped) &&
		(len(e.o.Gaps) == 0 || sameSet(e.o.Gaps, o.Gaps)) &&
		(len(e.o.Condition) == 0 || sameSet(e.o.Condition, o.Condition)) &&
		(e.o.Note == "" || plain(e.o.Note) == plain(o.Note)) &&
		(!e.said.opener || *e.o.Opener == o.OpenedBy() || e.o.Opener.Name != "" && e.o.Opener.Name == records.OpenerName(p.club, o))
}

func sameSet[T comparable](a, b []T) bool {
	for _, x := range a {
		if !slices.Contains(b, x) {
			return false
		}
	}
	return len(a) == len(b)
}

// plain is a note as a cell keeps it.
func plain(s string) string { return strings.Join(strings.Fields(s), " ") }
