package scheduler

// Replay works out the rates of a club's boxes from their whole history, up
// to and including until.
//
// On one day openings come first, hive by hive from the top of the stack as it
// stood in the morning; then boxes move, then repairs and new queens count. A
// box that stood above an opened one came off too, though nobody wrote it down
// (HiveState.cameOff). A box that moves keeps what is known of its own part of
// the rate and takes its new hive's. A hive that is not in the club seals like
// the place where the box stands at present.
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

// ReplayHives returns the state of every hive of a club, in record order, to
// be kept and continued with HiveState.Apply.
func ReplayHives(c *Club, until Date) []HiveState {
	r := newReplay(c)
	r.run(until, nil)
	var out []HiveState
	for i := range r.hives {
		if r.hives[i].hive != nil {
			out = append(out, r.hives[i].state)
		}
	}
	return out
}

// run lets everything happen, up to and including until, that concerns the
// wanted hives and the boxes that ever stood on them; all when wanted is nil.
func (r *replay) run(until Date, wanted []bool) {
	for _, e := range r.history(until, wanted) {
		switch e.what {
		case boxOpened:
			r.open(&r.boxes[e.box], &r.boxes[e.box].box.Openings[e.ref], e.on)
		case boxPlaced:
			r.move(&r.boxes[e.box], &e)
		case boxRepaired:
			r.repair(&r.boxes[e.box], e.on)
		case hiveRequeened:
			state := &r.hives[e.hive].state
			state.advance(e.on)
			state.forget(0, hiveVariance)
		}
	}
}

func (r *replay) open(b *replayBox, o *Opening, on Date) {
	if b.at != none {
		h := &r.hives[b.at]
		h.state.apply(h.season, h.state.find(b.box.ID), o)
		return
	}
	if age := b.seal.Left; age > 0 && o.Difficulty() >= Loose {
		// it was glued by a hive of which no more is known than of any other
		b.own = b.own.until(on)
		shift, shrink := surprise(age, b.own.mean, b.own.variance+hiveVariance, o.Difficulty())
		v := b.own.variance
		b.own.mean += v * shift
		b.own.variance -= v * v * shrink
	}
	b.seal.opened(o, b.seal.Left)
}

func (r *replay) move(b *replayBox, e *event) {
	to := int(e.hive)
	if b.at == to && to != none {
		state := &r.hives[to].state
		state.Boxes[state.find(b.box.ID)].Position = int(e.position)
		return
	}
	if b.at != none {
		h := &r.hives[b.at]
		h.state.advance(e.on)
		b.seal, b.own = h.state.take(h.state.find(b.box.ID))
		b.seal.Left, b.seal.Since = b.seal.age(h.season, e.on), e.on
	}
	b.at = to
	if to != none {
		b.seal.Since, b.seal.Position = e.on, int(e.position)
		state := &r.hives[to].state
		state.advance(e.on)
		state.put(b.seal, b.own.until(e.on))
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
// hive has what any hive would make of it.
func (r *replay) rate(b *replayBox) BoxRate {
	if b.at != none {
		state := &r.hives[b.at].state
		return state.Rate(state.find(b.box.ID))
	}
	return BoxRate{
		Seal: b.seal, Mean: b.own.mean,
		Variance: b.own.variance + hiveVariance, RatedOn: b.own.on,
	}
}
