package scheduler

// seasonsOf are the seasons of the places of a club, also of those where hives stood
// before.
func seasonsOf(c *Club) map[int64]*Season {
	seasons := make(map[int64]*Season, len(c.Apiaries)+len(c.Former))
	for _, list := range [][]Apiary{c.Former, c.Apiaries} {
		for i := range list {
			seasons[list[i].ID] = NewSeason(list[i].Place(), &c.Rules)
		}
	}
	return seasons
}

// firstPlace is the apiary where a hive stood before it ever moved.
func (h *Hive) firstPlace(now int64) int64 {
	for i := range h.Events {
		if e := &h.Events[i]; e.What == Moved {
			return e.FromApiary
		}
	}
	return now
}

// placeAfter is the apiary where a hive stood after the i-th of its events.
func (h *Hive) placeAfter(i int, now int64) int64 {
	for i++; i < len(h.Events); i++ {
		if e := &h.Events[i]; e.What == Moved {
			return e.FromApiary
		}
	}
	return now
}

// befall lets an event happen to a hive. What boxes went with it has happened already.
func (r *replay) befall(hive int, i int) {
	h := &r.hives[hive]
	e := &h.hive.Events[i]
	h.state.advance(e.On)
	switch e.What {
	case Swarmed, Requeened:
		h.state.requeen()
	case Died, Sold:
		h.settle(e.On, h.season.still())
	case NewColony:
		h.state.forget(0, hiveVariance)
		h.settle(e.On, r.seasonAt(h.hive.placeAfter(i, h.apiaryID), h.season))
	case Moved:
		h.settle(e.On, r.seasonAt(h.hive.placeAfter(i, h.apiaryID), h.season))
	case Split, United:
		r.shareBees(h, e)
	}
}

// shareBees gives a hive the gluing of the colony that its bees came from: all of it
// where the queen came along, and what a daughter keeps where she did not.
func (r *replay) shareBees(h *replayHive, e *ColonyEvent) {
	at, ok := r.hiveAt[e.OtherID]
	if !ok {
		return
	}
	other := &r.hives[at].state
	other.advance(e.On)
	if e.What == Split || e.Queen == QueenGoes {
		other.forget(0, h.state.Cov[0])
		other.Mean[0] = h.state.Mean[0]
	}
	if e.What == Split && e.Queen != QueenGoes || e.What == United && e.Queen == QueenUnknown {
		other.requeen()
	}
	if e.What == Split && e.Queen != QueenStays {
		h.state.requeen()
	}
}

func (r *replay) seasonAt(apiary int64, or *Season) *Season {
	if s := r.seasons[apiary]; s != nil {
		return s
	}
	return or
}

// settle lets the boxes of a hive seal until a day, and from then on by another season.
func (h *replayHive) settle(on Date, s *Season) {
	for i := range h.state.Boxes {
		if z := &h.state.Boxes[i]; z.Since < on {
			z.grow(h.season.SealingDays(z.Since, on), on)
		}
	}
	h.season = s
}

// still is s without bees: the stages pass, and nothing seals.
func (s *Season) still() *Season {
	q := *s
	for i := range q.rules {
		q.rules[i].Pace = 0
	}
	q.sumPaces()
	return &q
}

// rest brings the seals of hives without bees to the end of the run, or to the day on
// which a new colony is expected: until then they do not age.
func (r *replay) rest() {
	for i := range r.hives {
		h := &r.hives[i]
		if h.hive == nil || len(h.hive.Events) == 0 {
			continue
		}
		if _, back, without := h.hive.WithoutBees(r.until); without {
			h.settle(max(r.until, back), h.season)
		}
	}
}
