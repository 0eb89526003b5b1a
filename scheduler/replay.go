package scheduler

import "slices"

// Replay works out the rates of a club's boxes from their whole history, up
// to and including until.
//
// On one day openings come first, hive by hive from the top of the stack as it
// stood in the morning; then boxes move, then repairs and new queens count. A
// box that stood above an opened one came off too, though nobody wrote it down
// (HiveState.cameOff). A box that moves keeps what is known of its own part of
// the rate and takes its new hive's. A hive that is not in the club seals like
// the place where the box stands at present.
//
// Records have holes. A box without a record, on the list of a visit that was made or
// beside an opened one, may have been opened (replay_maybe.go): its seal then has several
// ages, each with its weight, until a record says more. A rate stands for the last event
// of its hive; until the next only its variance grows.
func Replay(c *Club, until Date) Rates {
	r := newReplay(c)
	r.run(until, nil)
	out := make(Rates, len(r.boxes))
	for i := range r.boxes {
		out[i] = r.rate(&r.boxes[i])
	}
	return out
}

// ReplayApiary returns the part of Replay for the boxes that stand in one
// apiary. It reads only the hives that their history touches.
func ReplayApiary(c *Club, apiaryID int64, until Date) Rates {
	r := newReplay(c)
	wanted := r.touching(apiaryID)
	r.run(until, wanted)
	var out Rates
	for i := range r.boxes {
		if b := &r.boxes[i]; b.present >= 0 && r.hives[b.present].apiaryID == apiaryID {
			out = append(out, r.rate(b))
		}
	}
	return out
}

// run lets everything happen, up to and including until, that concerns the
// wanted hives and the boxes that ever stood on them; all when wanted is nil.
func (r *replay) run(until Date, wanted []bool) {
	r.until = until
	r.visits = r.madeVisits()
	for events := r.history(until, wanted); len(events) > 0; {
		day := events[0].on
		r.visitedBefore(day)
		for ; len(events) > 0 && events[0].on == day && events[0].what == boxOpened; events = events[1:] {
			e := &events[0]
			b := &r.boxes[e.box]
			r.open(b, &b.box.Openings[e.ref], day)
		}
		r.openedBeside(day)
		for ; len(events) > 0 && events[0].on == day; events = events[1:] {
			r.happen(&events[0])
		}
	}
	r.visitedBefore(until + 1)
	r.rest()
}

// happen lets anything but an opening happen.
func (r *replay) happen(e *event) {
	switch e.what {
	case boxPlaced:
		r.move(e.box, e)
	case boxRepaired:
		r.repair(&r.boxes[e.box], e.on)
	case hiveRequeened:
		state := &r.hives[e.hive].state
		state.advance(e.on)
		state.requeen()
	case colonyBefell:
		r.befall(int(e.hive), int(e.ref))
	}
}

func (r *replay) open(b *replayBox, o *Opening, on Date) {
	if b.at != none {
		h := &r.hives[b.at]
		h.state.apply(h.season, h.state.find(b.box.ID), o, r.wordsOf(b, o))
		if !o.LeftShut && (len(r.opened) == 0 || r.opened[len(r.opened)-1] != b.at) {
			r.opened = append(r.opened, b.at) // a day's openings come hive by hive
		}
		return
	}
	if o.Difficulty() >= Loose {
		// it was glued by a hive of which no more is known than of any other
		b.own = b.own.until(on)
		shift, shrink := b.seal.learn(0, b.own.mean, b.own.variance+hiveVariance, r.wordsOf(b, o).span(o.Difficulty()))
		v := b.own.variance
		b.own.mean += v * shift
		b.own.variance -= v * v * shrink
	}
	b.seal.opened(o, b.seal.Left)
}

func (r *replay) move(box int32, e *event) {
	b, to := &r.boxes[box], int(e.hive)
	if b.at == to && to != none {
		state := &r.hives[to].state
		state.Boxes[state.find(b.box.ID)].Position = int(e.position)
		return
	}
	if b.at != none {
		h := &r.hives[b.at]
		h.state.advance(e.on)
		i := h.state.find(b.box.ID)
		b.seal, b.own = h.state.take(i)
		h.boxes = slices.Delete(h.boxes, i, i+1)
		b.seal.grow(h.season.SealingDays(b.seal.Since, e.on), e.on)
	}
	b.at = to
	if to != none {
		b.seal.Since, b.seal.Position = e.on, int(e.position)
		h := &r.hives[to]
		h.state.advance(e.on)
		h.state.put(b.seal, b.own.until(e.on))
		h.boxes = append(h.boxes, box)
	}
}

func (r *replay) repair(b *replayBox, on Date) {
	if b.at == none {
		b.own = marginal{0, boxVariance, on}
		return
	}
	state := &r.hives[b.at].state
	state.advance(on)
	state.forget(state.find(b.box.ID)+1, boxVariance)
}

// rate returns the rate of a box at the end of the run. One that stands on no
// hive has what any hive would make of it, and one on a hive without bees what that made.
func (r *replay) rate(b *replayBox) BoxRate {
	if b.at != none {
		h := &r.hives[b.at]
		rate := h.state.Rate(h.state.find(b.box.ID))
		if h.hive.bare(r.until) {
			rate.HiveID = 0
		}
		return rate
	}
	return BoxRate{
		Seal: b.seal, Mean: b.own.mean,
		Variance: b.own.variance + hiveVariance, RatedOn: b.own.on,
	}
}
