package scheduler

import "slices"

// Unwritten are the boxes of a done visit of which nobody has written down or
// said whether they were opened too. Probably they were: until AnswerDays after
// the visit those who were there can say so, and no trip is made for them that
// nothing but their odds asks for.
type Unwritten struct {
	Boxes []int64 // in the visit's order
	There []int64 // members who opened what was written down, or else those who said that they go, or else who was expected
	On    Date    // the day on which boxes of the visit were opened last, or else its own
}

// UnwrittenOf returns what is unwritten of a visit to an apiary on a day; no
// boxes where nothing is, or it is not asked about (any more).
func UnwrittenOf(a *Apiary, v *Visit, r *Rules, today Date) Unwritten {
	if v.Status != Done || today > v.On+Date(r.AnswerDays) || a.ID != v.ApiaryID {
		return Unwritten{}
	}
	return unwrittenOf(a, v)
}

// unwrittenOf is UnwrittenOf without a look at the calendar. A box counts as
// written down when it or, unless that was left shut, one below it has an
// opening since: to open that one, it came off.
func unwrittenOf(a *Apiary, v *Visit) Unwritten {
	out := Unwritten{On: v.On}
	last := Date(0)
	for h := range a.Hives {
		open := false // below
		for i := range a.Hives[h].Boxes {
			b := &a.Hives[h].Boxes[i]
			on := v.Lists(b.ID)
			tried := b.triedSince(v.On - nearDays)
			if tried == nil && !open && on && !slices.Contains(v.NotOpened, b.ID) {
				out.Boxes = append(out.Boxes, b.ID)
			}
			open = open || tried != nil && !tried.LeftShut
			if o := b.OpeningFor(v.On, nearDays); o != nil && on {
				last = max(last, o.On)
				if who := o.OpenedBy().Member; who != 0 && !slices.Contains(out.There, who) {
					out.There = append(out.There, who)
				}
			}
		}
	}
	slices.SortFunc(out.Boxes, func(a, b int64) int { return v.place(a) - v.place(b) })
	slices.Sort(out.There)
	if last != 0 {
		out.On = last
	}
	switch {
	case len(out.There) > 0:
	case v.IsTaken():
		out.There = slices.Clone(v.Taken)
	default:
		out.There = slices.Clone(v.Who)
	}
	return out
}

// triedSince returns the last opening of b that decides, if it is not before a
// day.
func (b *Box) triedSince(day Date) *Opening {
	var last *Opening
	for _, i := range decisive(b.Openings, make([]int32, 0, 16)) {
		if o := &b.Openings[i]; o.On >= day {
			last = o
		}
	}
	return last
}

// waitForWord puts off the boxes of a done visit of which somebody may still
// say whether they were opened.
func (p *projection) waitForWord(v *Visit) {
	for _, id := range unwrittenOf(p.days.apiary, v).Boxes {
		p.putOff(id, int32(v.On-p.days.today)+p.givenUp())
	}
}

// Unwritten returns what is unwritten of the done visits of a club, by visit.
func (c *Club) Unwritten(today Date) map[int64]Unwritten {
	out := map[int64]Unwritten{}
	for i := range c.Visits {
		v := &c.Visits[i]
		if a := c.Apiary(v.ApiaryID); a != nil && v.Status == Done {
			if u := UnwrittenOf(a, v, &c.Rules, today); len(u.Boxes) > 0 {
				out[v.ID] = u
			}
		}
	}
	return out
}

// askOf enters the done visits of an apiary with boxes that are asked about.
func (p *Plan) askOf(a *Apiary, history []*Visit, r *Rules) {
	for _, v := range history {
		if u := UnwrittenOf(a, v, r, p.Today); len(u.Boxes) > 0 {
			if p.Unwritten == nil {
				p.Unwritten = map[int64]Unwritten{}
			}
			p.Unwritten[v.ID] = u
		}
	}
}
