package scheduler

import "slices"

// RainedOff returns up to n days, soonest first, to which a visit of c that
// cannot be on its day may be put off: days after its own and not before
// today, on which every hive that it opens may be opened and somebody who goes
// is not away. They are the keepers' weekdays and, where those leave more than
// a week without one, other days in between. It is empty when no such day
// comes within the horizon. Putting a visit off pins it there: set On to the
// chosen day and Pinned.
func RainedOff(c *Club, v *Visit, today Date, n int) []Date {
	a := c.Apiary(v.ApiaryID)
	if a == nil {
		return nil
	}
	var y days
	y.fill(a, c.Members, NewSeason(a.Place(), &c.Rules), today)
	hives := visitHives(a, v)
	var out []Date
	from, usual := max(int32(v.On-today)+1, 0), int32(-1)
	for k := from; int(k) < y.n && len(out) < n; k++ {
		if !y.suits(v, hives, k) {
			continue
		}
		if usual < k {
			usual = y.nextUsual(v, hives, k)
		}
		if usual == k || usual > k+7 {
			out = append(out, today+Date(k))
		}
	}
	return out
}

// visitHives returns the places of the hives that a visit opens.
func visitHives(a *Apiary, v *Visit) []int {
	var out []int
	for h := range a.Hives {
		if slices.ContainsFunc(a.Hives[h].Boxes, func(b Box) bool { return v.Lists(b.ID) }) {
			out = append(out, h)
		}
	}
	return out
}

// suits reports whether a visit that opens some hives may be on day k.
func (y *days) suits(v *Visit, hives []int, k int32) bool {
	for _, h := range hives {
		if !y.mayOpen(h, k) {
			return false
		}
	}
	if !y.visit[k] {
		return false
	}
	for _, id := range v.Who {
		if m := memberIn(y.members, id); m == nil || !m.Away(y.today+Date(k)) {
			return true
		}
	}
	return len(v.Who) == 0
}

// nextUsual returns the first of the keepers' weekdays from k on that suits.
func (y *days) nextUsual(v *Visit, hives []int, k int32) int32 {
	for ; int(k) < y.n; k++ {
		if y.apiary.Weekdays.Has((y.today + Date(k)).Weekday()) && y.suits(v, hives, k) {
			return k
		}
	}
	return noDay
}
