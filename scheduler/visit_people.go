package scheduler

import "slices"

// has reports whether a member is in a list.
func has(members []int64, id int64) bool { return slices.Contains(members, id) }

// with returns members with one more at the end, or as they are.
func with(members []int64, id int64) []int64 {
	if has(members, id) {
		return members
	}
	return append(clone(members), id)
}

// withoutMember returns members without one.
func withoutMember(members []int64, id int64) []int64 {
	if !has(members, id) {
		return members
	}
	return slices.DeleteFunc(clone(members), func(m int64) bool { return m == id })
}

func clone(members []int64) []int64 { return slices.Clone(members) }

// asksAnew reports whether others may be asked to make a visit though its day stays.
func (y *days) asksAnew(was *Visit) bool { return was.NoTime || was.AskAnew || y.someAway(was) }

// someAway reports whether somebody goes nowhere on the day of a visit that they are
// expected on, and did not say that they go.
func (y *days) someAway(was *Visit) bool {
	return slices.ContainsFunc(was.Who, func(id int64) bool {
		m := memberIn(y.members, id)
		return m != nil && m.Away(was.On) && !was.IsTakenBy(id)
	})
}

// who returns who is to go on a day, if they have time: those who went along with
// the old visit, or the apiary's keepers where nobody was asked, those have changed or all
// of them are away; without those who are away on that day, unless they said that they go on
// it, and those who refused to go about that time.
func (y *days) who(was *Visit, on Date, refused []refusal) []int64 {
	anew := was == nil || was.NoTime || was.AskAnew
	stays := !anew && was.On == on
	away := stays && y.someAway(was)
	if stays && !away {
		return was.Who
	}
	from := y.apiary.Keepers
	if !anew {
		from = was.Who
	}
	var who []int64
	for _, id := range from {
		m := memberIn(y.members, id)
		said := slices.ContainsFunc(refused, func(r refusal) bool {
			return r.member == id && shift(int32(r.on), int32(on)) <= int32(y.refusedFor)
		})
		there := m == nil || !m.Away(on) || away && was.IsTakenBy(id)
		if there && !said && (was == nil || !was.HasRefused(id)) {
			who = append(who, id)
		}
	}
	if away && len(who) == 0 {
		others := *was
		others.AskAnew = true
		if who = y.who(&others, on, refused); len(who) == 0 && was.Pinned {
			return was.Who // whoever put it there was asked whether they go all the same
		}
	}
	return who
}

// KeepersChanged has those who look after an apiary now asked to make its open visits
// from a day on, as far as nobody said that they go.
func (c *Club) KeepersChanged(apiary int64, from Date) {
	for i := range c.Visits {
		v := &c.Visits[i]
		v.AskAnew = v.AskAnew || v.ApiaryID == apiary && v.Status.Open() && v.On >= from && len(v.Taken) == 0
	}
}

// TakenBack puts a box on the open visit to its apiary again on which its opening had been
// written down, until that was taken back.
func (c *Club) TakenBack(box int64, on Date) {
	for i := range c.Visits {
		v := &c.Visits[i]
		if v.On == on && v.Status.Open() && !v.Lists(box) && c.standsAt(box, v.ApiaryID) {
			v.Returned = append(v.Returned, box)
		}
	}
}

// standsAt reports whether a box stands on a hive of an apiary.
func (c *Club) standsAt(box, apiary int64) bool {
	a := c.Apiary(apiary)
	return a != nil && slices.ContainsFunc(a.Hives, func(h Hive) bool {
		return slices.ContainsFunc(h.Boxes, func(b Box) bool { return b.ID == box })
	})
}

// refusal is a member who said of a visit that they cannot go.
type refusal struct {
	member int64
	on     Date // the visit's day
}
