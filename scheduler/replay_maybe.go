package scheduler

import "slices"

// How likely a box without a record of its own was opened on a day on which its apiary
// was visited. Whoever wrote down some boxes of a list mostly did the others too,
// unless rain came; whoever wrote down one box of a hive and not another that stood
// below it mostly left that shut (assumed).
const (
	openedListed = 0.8 // it was on the list of a visit that was made
	openedBeside = 0.1 // another box of its hive was opened
)

// rememberedDays is for how many days before the end of a run its visits count:
// whoever reads records for planning reads no older ones.
const rememberedDays = 400

// madeVisits returns the visits that were made as far as is known, by day.
func (r *replay) madeVisits() []*Visit {
	var out []*Visit
	for i := range r.club.Visits {
		if v := &r.club.Visits[i]; v.On <= r.until && v.On >= r.until-rememberedDays && r.made(v) {
			out = append(out, v)
		}
	}
	slices.SortStableFunc(out, func(a, b *Visit) int { return int(a.On - b.On) })
	return out
}

// made reports whether a visit is done, or will be by what is written down, see
// recorded.add.
func (r *replay) made(v *Visit) bool {
	if v.Status == Done {
		return true
	}
	if !v.May(VisitFound) || v.On == r.until || v.Status == Missed && v.On < r.until-reviveDays {
		return false
	}
	for i := range r.boxes {
		if b := &r.boxes[i]; b.present != none && r.hives[b.present].apiaryID == v.ApiaryID && b.box.openedWithin(nearDays, v.On) {
			return true
		}
	}
	return false
}

// visitedBefore puts the seals in doubt of boxes that a done visit before a day
// listed and that have no record of it.
func (r *replay) visitedBefore(day Date) {
	for ; len(r.visits) > 0 && r.visits[0].On < day; r.visits = r.visits[1:] {
		r.listed(r.visits[0])
	}
}

// openedBeside does so on a day on which boxes were opened, also with those of the same
// hives that nobody wrote anything about.
func (r *replay) openedBeside(day Date) {
	r.visitedBefore(day + 1)
	for _, h := range r.opened {
		for i := range r.hives[h].boxes {
			r.maybeOpened(&r.hives[h], i, day, openedBeside)
		}
	}
	r.opened = r.opened[:0]
}

// listed puts the seals in doubt of those boxes of a visit that have no record of it.
// A stage that asks for an opening takes such a visit for one, but where boxes of other
// hives were written down and none of theirs: theirs may have been left for another day.
func (r *replay) listed(v *Visit) {
	if r.index == nil {
		r.index = make(map[int64]int32, len(r.boxes))
		for i := range r.boxes {
			r.index[r.boxes[i].box.ID] = int32(i)
		}
	}
	written := r.writtenDown(v)
	for _, vb := range v.Boxes {
		if i, ok := r.index[vb.BoxID]; ok && r.boxes[i].at != none {
			at := r.boxes[i].at
			h := &r.hives[at]
			i := h.state.find(vb.BoxID)
			if has(v.NotOpened, vb.BoxID) { // as somebody said
				h.state.Boxes[i].maybeOn = v.On
			} else if r.maybeOpened(h, i, v.On, openedListed) && (len(written) == 0 || h.apiaryID != v.ApiaryID || slices.Contains(written, at)) {
				h.state.Boxes[i].listedOn = v.On
			}
		}
	}
}

// writtenDown are the hives at a visit's apiary of which boxes were opened then: what
// happened elsewhere is none of its rates' sources.
func (r *replay) writtenDown(v *Visit) []int {
	r.written = r.written[:0]
	for i := range r.boxes {
		if b := &r.boxes[i]; b.at != none && r.hives[b.at].apiaryID == v.ApiaryID && b.box.openedWithin(nearDays, v.On) {
			r.written = append(r.written, b.at)
		}
	}
	return r.written
}

// mistakenDays is by how much the day of a record may be mistaken: a box that has
// one so near has not been opened without. Common practice, no source.
const mistakenDays = 7

// maybeOpened puts the seal of the i-th box of a hive in doubt, unless a record says
// what became of it, and reports whether it did.
func (r *replay) maybeOpened(h *replayHive, i int, on Date, p float64) bool {
	z := &h.state.Boxes[i]
	if z.From >= on-mistakenDays || z.LastTried >= on-mistakenDays || z.maybeOn == on || r.boxes[h.boxes[i]].box.openedWithin(mistakenDays, on) {
		return false
	}
	z.maybeOpened(on, h.season.SealingDays(z.Since, on), p)
	return true
}
