package notebook

import (
	"cmp"
	"slices"

	"pryday/scheduler"
)

// rowHive is a hive as rows of the table write it.
type rowHive struct{ apiary, hive string }

func rowHiveOf(e *entry) rowHive { return rowHive{key(e.apiary), key(e.hive)} }

// line gives each hive its rows in the order of the table: also those that are refused,
// for want of a day or otherwise, stand where they stand.
func (p *placing) line() {
	for _, e := range p.entries {
		h := p.stacks[rowHiveOf(e)]
		if h == nil {
			continue
		}
		if e.of == nil {
			e.of = h.boxes[key(p.markOf(h, e))]
		}
		if e.of != nil {
			h.rows = append(h.rows, e)
		}
	}
}

// told reports whether the table says of each of some boxes where it stands.
func told(boxes []*placed) bool {
	return !slices.ContainsFunc(boxes, func(b *placed) bool { return b.position == 0 }) ||
		!slices.ContainsFunc(boxes, func(b *placed) bool { return b.spot == 0 })
}

// mostStacked is how many new boxes a hive may have for its stack to be looked into: no
// stack is so high, and each of them is held against each other one.
const mostStacked = 50

// upwards puts new boxes of a hive in order from the bottom up, by what the table says
// most clearly: their places, words for those, how they follow each other in the rows of
// one day, and only then which comes first in the table. Guessed reports that this last
// had to settle it.
func (p *placing) upwards(h *stack, fresh []*placed) (out []*placed, guessed bool) {
	left := slices.Clone(fresh)
	if p.choices.Stack == TopDown {
		slices.Reverse(left)
	}
	if len(h.made) > mostStacked {
		return left, true
	}
	follow := p.follow(h)
	days := func(a, b *placed) int { return follow[[2]*placed{b, a}] - follow[[2]*placed{a, b}] }
	below := func(a, b *placed, said ...func(a, b *placed) int) bool { // a stands below b
		for _, by := range said {
			if c := by(a, b); c != 0 {
				return c < 0
			}
		}
		return false
	}
	for len(left) > 0 {
		lowest := func(said ...func(a, b *placed) int) (at []int) {
			for i, b := range left {
				if !slices.ContainsFunc(left, func(a *placed) bool { return a != b && below(a, b, said...) }) {
					at = append(at, i)
				}
			}
			return at
		}
		at := lowest(byPosition, bySpot, days)
		if len(at) == 0 { // its days contradict each other
			at = append(lowest(byPosition, bySpot), 0)
			guessed = true
		}
		guessed = guessed || len(at) > 1
		out, left = append(out, left[at[0]]), slices.Delete(left, at[0], at[0]+1)
	}
	return out, guessed
}

// byPosition compares the places of boxes. Below the first there is none, also not one
// of which the table does not say where it stands.
func byPosition(a, b *placed) int {
	switch {
	case a.position == b.position:
		return 0
	case a.position == 1:
		return -1
	case b.position == 1:
		return 1
	case a.position == 0 || b.position == 0:
		return 0
	}
	return cmp.Compare(a.position, b.position)
}

func bySpot(a, b *placed) int {
	if a.spot == 0 || b.spot == 0 {
		return 0
	}
	return cmp.Compare(a.spot, b.spot)
}

// follow counts on how many days of the table the rows of one box of a hive come below
// those of another in the stack, with the way in which the table lists them.
func (p *placing) follow(h *stack) map[[2]*placed]int {
	days := map[scheduler.Date][]*placed{}
	for i, e := range h.rows {
		if on, ok := h.dayOf(i); ok && e.of.have == nil && !slices.Contains(days[on], e.of) {
			days[on] = append(days[on], e.of)
		}
	}
	out := map[[2]*placed]int{}
	for _, boxes := range days {
		for i, a := range boxes {
			for _, b := range boxes[i+1:] {
				if p.choices.Stack == TopDown {
					out[[2]*placed{b, a}]++
				} else {
					out[[2]*placed{a, b}]++
				}
			}
		}
	}
	return out
}

// dayOf is the day to which a row of a hive belongs. One without a day is of that of the
// hive's rows next to it, unless that above is of another day than that below.
func (h *stack) dayOf(at int) (on scheduler.Date, ok bool) {
	if on = h.rows[at].o.On; on != 0 {
		return on, true
	}
	for _, step := range []int{-1, 1} {
		for i := at + step; i >= 0 && i < len(h.rows) && step*(h.rows[i].row-h.rows[i-step].row) <= 1; i += step {
			next := h.rows[i].o.On
			if next == 0 {
				continue
			}
			if on != 0 && on != next {
				return 0, false
			}
			on = next
			break
		}
	}
	return on, true
}
