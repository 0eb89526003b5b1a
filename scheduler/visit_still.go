package scheduler

import (
	"iter"
	"slices"
)

// stillHours is how much cheaper another day must be before a tentative visit of
// people who have promised others moves there, in hours: a fifth of what moves a confirmed one.
func (r *Rules) stillHours() float64 { return r.HoldHours / 5 }

// stand lets the tentative visits stay on their days where another is hardly
// cheaper, if those who look after the apiary have promised visits to others too:
// each visit that moves then moves others. Where they have not, only the records
// move a visit, and what they say counts.
func (p *projection) stand(open []Visit) {
	p.stands = p.stands[:0]
	if !p.room.shared {
		return
	}
	for i := range open {
		if v := &open[i]; v.Status == Tentative && !v.staysPut() && v.On < p.days.today+Date(p.days.n) {
			p.stands = append(p.stands, int32(v.On-p.days.today))
		}
	}
}

// still puts the next visit of the grouping, which is on a day, on that of a
// tentative visit instead, if there is one on which it may be, that is no day
// of another one and costs not much more; of several on the cheapest. It
// returns the day. What is grouped with what is not changed by it: a plan made
// again finds its visits where it put them.
func (p *projection) still(day, from int32) int32 {
	if len(p.stands) == 0 || slices.Contains(p.stands, day) {
		return day
	}
	w, ok := p.stillWindow(day, from)
	if !ok {
		return day
	}
	work := p.workOn(day)
	most := p.wasteOn(day, day) + p.rules.stillHours()
	if !p.days.fits(day, work) {
		work = 0 // nobody has time for it there either
	}
	best := day
	for _, k := range p.stands {
		if k < w.lo || k > w.hi || p.days.allow[k] < w.need || !p.days.fits(k, work) {
			continue
		}
		if waste := p.wasteOn(day, k); waste <= most {
			best, most = k, waste
		}
	}
	for i := range p.grouping.groups {
		if g := &p.grouping.groups[i]; g.day == day {
			g.day = best
		}
	}
	return best
}

// stillWindow returns the days on which what is grouped on a day may be, before
// any other visit; false where there is nothing to open or somebody has put it
// there.
func (p *projection) stillWindow(day, from int32) (w window, ok bool) {
	w = window{lo: from, hi: int32(p.days.n) - 1, need: preferred}
	for it := range p.groupedOn(day) {
		if it.hive == fixedDay {
			return w, false
		}
		w.lo, w.hi, w.need = max(w.lo, it.lo), min(w.hi, it.hi), min(w.need, it.need)
		ok = ok || !it.bare
	}
	for _, g := range p.grouping.groups {
		if g.day != day {
			w.hi = min(w.hi, g.day-1)
		}
	}
	return w, ok
}

// workOn returns the hours of work of what is grouped on a day.
func (p *projection) workOn(day int32) (work float64) {
	for it := range p.groupedOn(day) {
		if !it.bare {
			work += p.hours.open * float64(it.top-it.box+1)
		}
	}
	return work
}

// wasteOn returns what is wasted if what is grouped on a day is opened on day k
// instead; infinite where a hive is to be left alone.
func (p *projection) wasteOn(day, k int32) (waste float64) {
	for it := range p.groupedOn(day) {
		if it.bare {
			continue
		}
		acc := [1]float64{}
		it.addTo(acc[:], k, &p.days, p.boxes, p.hours.open)
		waste += acc[0]
	}
	return waste
}

// groupedOn yields the items that are grouped on a day.
func (p *projection) groupedOn(day int32) iter.Seq[*item] {
	return func(yield func(*item) bool) {
		g := &p.grouping
		for _, group := range g.groups {
			for i := group.first; group.day == day && i <= group.last; i++ {
				if !yield(&g.items[i]) {
					return
				}
			}
		}
	}
}
