package notebook

import (
	"cmp"
	"slices"

	"pryday/scheduler"
)

// apply puts what is new into the club.
func (p *placing) apply(keeper int64) {
	// Openings first: making boxes moves the slices that the boxes lie in.
	for _, b := range p.boxes {
		if b.have == nil {
			continue
		}
		for _, e := range b.add {
			b.have.StoodOn(e.o.On)
			b.have.Openings = append(b.have.Openings, p.opening(e, b))
		}
	}
	last := lastIDs(p.club)
	for _, missing := range []bool{false, true} { // and hives that are there before those that are made beside them
		for _, s := range p.order {
			for _, h := range s.order {
				if h.fresh == missing {
					p.pile(h, &last)
				}
			}
		}
	}
	for _, s := range p.order {
		if s.have == nil && len(s.made()) > 0 {
			last.apiary++
			a := *s.fresh
			a.ID, a.Name, a.Hives = last.apiary, s.name, s.made()
			if keeper != 0 {
				a.Keepers = []int64{keeper}
			}
			p.club.Apiaries = append(p.club.Apiaries, a)
		}
	}
}

// made are the hives of a new apiary.
func (s *site) made() (out []scheduler.Hive) {
	for _, h := range s.order {
		if h.have != nil && len(h.have.Boxes) > 0 {
			out = append(out, *h.have)
		}
	}
	return out
}

func (p *placing) opening(e *entry, b *placed) scheduler.Opening {
	o := e.o
	o.ID = p.id(e, b)
	if o.Scraped == "" && p.choices.Scraped != Unsaid {
		o.Scraped = scheduler.Scraped(p.choices.Scraped)
	}
	return o
}

// pile puts the new boxes of a hive onto it, and makes it if need be.
func (p *placing) pile(h *stack, last *ids) {
	fresh := h.left(p)
	if len(fresh) == 0 {
		return
	}
	fresh, _ = p.upwards(h, fresh)
	target := h.have
	if target == nil {
		last.hive++
		made := scheduler.Hive{ID: last.hive, Name: h.name}
		if h.site.have == nil {
			h.have = &made
			target = h.have
		} else {
			h.site.have.Hives = append(h.site.have.Hives, made)
			target = &h.site.have.Hives[len(h.site.have.Hives)-1]
		}
	}
	for i, b := range fresh {
		last.box++
		box := scheduler.Box{ID: last.box, Name: b.name, Kind: b.kind, SetUpOn: p.setUpOf(b)}
		switch {
		case b.setUp != 0:
		case len(b.add) > 0: // in use for nobody knows how long
			box.GuessedOn = p.today
		default:
			box.GuessedOn = p.choices.GuessedOn
		}
		if box.Kind == "" {
			box.Kind = p.choices.Upper
			if b.spot.brood() || i == 0 && len(target.Boxes) == 0 && !b.spot.super() || b.position == 1 {
				box.Kind = p.choices.Lowest
			}
		}
		for _, e := range b.add {
			box.Openings = append(box.Openings, p.opening(e, b))
		}
		target.Boxes = append(target.Boxes, box)
	}
}

// counts reports whether anything of a new box is left after rows were refused.
func (p *placing) counts(b *placed) bool {
	return slices.ContainsFunc(b.entries, func(e *entry) bool { return p.why[e.row] == nil })
}

// setUpOf is the day from which a new box counts as sealing: its own, the day of its
// first opening, or the one that was chosen for boxes without either.
func (p *placing) setUpOf(b *placed) scheduler.Date {
	day := b.setUp
	for _, e := range b.add {
		if day == 0 || e.o.On < day {
			day = e.o.On
		}
	}
	return cmp.Or(day, p.choices.SetUp)
}

type ids struct{ apiary, hive, box int64 }

func lastIDs(c *scheduler.Club) (last ids) {
	boxes := func(all []scheduler.Box) {
		for i := range all {
			last.box = max(last.box, all[i].ID)
		}
	}
	boxes(c.Spare)
	for a := range c.Apiaries {
		last.apiary = max(last.apiary, c.Apiaries[a].ID)
		for h := range c.Apiaries[a].Hives {
			last.hive = max(last.hive, c.Apiaries[a].Hives[h].ID)
			boxes(c.Apiaries[a].Hives[h].Boxes)
		}
	}
	return last
}
