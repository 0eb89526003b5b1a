package scheduler

// duty is a stage that asks for a visit to the apiary.
type duty struct {
	lo, hi, due int32
	done        bool
}

// addDuties enters the stages that ask for a visit which nobody has made yet: no
// visit was done in them and no box opened.
func (p *projection) addDuties(visits, past []Visit) {
	y := &p.days
	p.duties = p.duties[:0]
	if len(p.start) == 0 {
		return // nobody lives there
	}
	for _, sp := range y.spans {
		if y.season.n == 1 || y.season.rules[sp.stage].Required != VisitRequired {
			continue
		}
		if p.visited(visits, sp) || p.visited(past, sp) {
			continue
		}
		d := duty{lo: max(int32(sp.first-y.today), 0), hi: min(int32(sp.last-y.today), int32(y.n)-1)}
		d.due = d.hi
		for k := d.hi; k >= d.lo; k-- {
			if y.allow[k] >= openable {
				d.due = k
				break
			}
		}
		if d.lo <= d.hi && p.grouping.bareDay(y, d.lo, d.hi, d.due) >= 0 {
			p.duties = append(p.duties, d)
		}
	}
}

// visited reports whether the apiary was visited in a stage.
func (p *projection) visited(visits []Visit, sp stageSpan) bool {
	for i := range visits {
		v := &visits[i]
		if v.ApiaryID == p.days.apiary.ID && v.Status == Done && sp.first <= v.On && v.On <= sp.last {
			return true
		}
	}
	for i := range p.start {
		if on := p.start[i].rate.LastTried; sp.first <= on && on <= sp.last {
			return true
		}
	}
	return false
}
