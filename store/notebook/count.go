package notebook

import "pryday/scheduler"

// lacks notes what the table does not say of openings and boxes that are not there yet.
func (p *placing) lacks() {
	for _, b := range p.boxes {
		for _, e := range b.add {
			if e.o.Scraped == "" {
				p.asked.Unscraped++
				p.asked.open = p.asked.open || p.choices.Scraped == ""
			}
		}
	}
	for _, s := range p.order {
		for _, h := range s.order {
			fresh := h.left(p)
			for _, b := range fresh {
				if b.kind == "" && !b.asked {
					example(&p.asked.NoKind, b.name)
					p.asked.open = p.asked.open || p.choices.Lowest == "" || p.choices.Upper == ""
				}
				if b.setUp == 0 && len(b.add) == 0 {
					p.asked.NoSetUp++
					p.asked.open = p.asked.open || p.choices.SetUp == 0
				}
			}
			if len(fresh) > 1 && !told(fresh) {
				example(&p.asked.Stack, h.name)
				p.asked.open = p.asked.open || p.choices.Stack == ""
			}
		}
	}
}

// left are the new boxes of a hive of which rows are left.
func (h *stack) left(p *placing) (out []*placed) {
	for _, b := range h.made {
		if p.counts(b) {
			out = append(out, b)
		}
	}
	return out
}

// count counts what a table comes to.
func (p *placing) count(res *Result) {
	adds := map[int]bool{} // rows that add something
	for _, b := range p.boxes {
		for _, e := range b.add {
			adds[e.row] = true
			if res.First == 0 || e.o.On < res.First {
				res.First = e.o.On
			}
			res.Last = max(res.Last, e.o.On)
			if e.o.Joint == scheduler.NotTried && e.o.Frames == scheduler.NotTried && !e.o.LeftShut {
				res.Ungraded++
			}
		}
		res.Openings += len(b.add)
	}
	for _, s := range p.order {
		before := res.Boxes
		for _, h := range s.order {
			fresh := h.left(p)
			for _, b := range fresh {
				for _, e := range b.entries {
					adds[e.row] = adds[e.row] || !e.opened
				}
			}
			res.Boxes += len(fresh)
			if _, guessed := p.upwards(h, fresh); guessed {
				res.Stacked++
				example(&res.StackedIn, h.name)
			}
			for _, b := range fresh {
				if b.setUp == 0 && len(b.add) > 0 {
					res.Begun++
				}
				if b.named {
					res.Unmarked++
					example(&res.NamedAs, b.name)
				}
			}
			if h.fresh && len(fresh) > 0 {
				res.Hives++
			}
		}
		if s.have == nil && res.Boxes > before {
			res.Apiaries = append(res.Apiaries, s.name)
		}
	}
	counted := map[int]bool{}
	for _, b := range p.boxes {
		for _, e := range b.entries {
			if p.why[e.row] != nil || adds[e.row] || counted[e.row] {
				continue
			}
			counted[e.row] = true
			if e.opened && b.adds(e) {
				res.Repeated++
			} else {
				res.Known++
			}
		}
	}
}

// adds reports whether another row adds the opening of an entry.
func (b *placed) adds(e *entry) bool {
	for _, a := range b.add {
		if a.o.On == e.o.On {
			return true
		}
	}
	return false
}
