package scheduler

// replay is one run over a club's history.
type replay struct {
	club  *Club
	hives []replayHive
	boxes []replayBox // in record order

	visits   []*Visit // done ones that are still to come
	opened   []int    // hives of which a box was opened on the day at hand
	until    Date
	words    map[int64]*words           // of those who recorded at wordsAt, by member
	wordsAt  int64                      // the apiary of the box at hand
	allWords map[int64]map[int64]*words // by apiary
	index    map[int64]int32            // of boxes by their ids, once a visit asks
	written  []int                      // see writtenDown

	hiveAt  map[int64]int     // by the ids of hives
	seasons map[int64]*Season // by the ids of apiaries

	firsts   []BoxPlace // room for the places of boxes whose records have none
	presents []int      // and for their hives
}

// replayHive is one hive of a run.
type replayHive struct {
	apiaryID int64
	hive     *Hive // nil for one that only a box's places name
	season   *Season
	state    HiveState
	boxes    []int32 // which of the run's stand at state.Boxes
}

// replayBox is one box of a run.
type replayBox struct {
	box     *Box
	present int        // the hive that the records list it under; none for spare boxes
	places  []BoxPlace // at least one
	hives   []int      // of places, none where it stands on none
	at      int        // the hive it stands on now; none when on none
	seal    Seal       // while on no hive
	own     marginal   // while on no hive
}

// none stands for no hive.
const none = -1

// newReplay lists the hives and boxes of a club, with nothing having happened
// yet.
func newReplay(c *Club) *replay {
	hives, boxes := 0, len(c.Spare)
	for a := range c.Apiaries {
		hives += len(c.Apiaries[a].Hives)
		for h := range c.Apiaries[a].Hives {
			boxes += len(c.Apiaries[a].Hives[h].Boxes)
		}
	}
	r := &replay{
		club:  c,
		hives: make([]replayHive, 0, hives), boxes: make([]replayBox, 0, boxes),
		firsts: make([]BoxPlace, boxes), presents: make([]int, boxes),
	}
	index := make(map[int64]int, hives)
	r.hiveAt, r.seasons = index, seasonsOf(c)
	for a := range c.Apiaries {
		ap := &c.Apiaries[a]
		for h := range ap.Hives {
			hive := &ap.Hives[h]
			index[hive.ID] = len(r.hives)
			state := NewHiveState(hive.ID)
			state.reserve(len(hive.Boxes))
			season := r.seasonAt(hive.firstPlace(ap.ID), r.seasons[ap.ID])
			r.hives = append(r.hives, replayHive{ap.ID, hive, season, *state, make([]int32, 0, len(hive.Boxes))})
		}
	}
	at := 0
	for a := range c.Apiaries {
		for h := range c.Apiaries[a].Hives {
			hive := &c.Apiaries[a].Hives[h]
			for b := range hive.Boxes {
				r.addBox(&hive.Boxes[b], at, b+1, index)
			}
			at++
		}
	}
	for b := range c.Spare {
		r.addBox(&c.Spare[b], none, 0, index)
	}
	return r
}

// addBox adds a box that stands on the hive present, at a position counted
// from the bottom.
func (r *replay) addBox(box *Box, present, position int, index map[int64]int) {
	b := replayBox{box: box, present: present, at: none, places: box.Places}
	if len(b.places) == 0 {
		i := len(r.boxes)
		r.firsts[i] = BoxPlace{From: box.SetUpOn, Where: OnHive, Position: position}
		r.presents[i] = present
		b.places, b.hives = r.firsts[i:i+1], r.presents[i:i+1]
		r.boxes = append(r.boxes, b)
		return
	}
	b.hives = make([]int, len(b.places))
	for i, p := range b.places {
		b.hives[i] = none
		if p.Where != OnHive {
			continue
		}
		hive, ok := index[p.HiveID]
		if !ok {
			hive = len(r.hives)
			index[p.HiveID] = hive
			ghost := replayHive{state: *NewHiveState(p.HiveID)}
			if present != none {
				ghost.season = r.hives[present].season
			}
			r.hives = append(r.hives, ghost)
		}
		b.hives[i] = hive
	}
	r.boxes = append(r.boxes, b)
}

// touching returns which hives the history of an apiary's boxes hangs together
// with: those that its boxes ever stood on or whose bees theirs joined, with all
// that these hang together with.
func (r *replay) touching(apiaryID int64) []bool {
	wanted := make([]bool, len(r.hives))
	for i := range r.hives {
		wanted[i] = r.hives[i].hive != nil && r.hives[i].apiaryID == apiaryID
	}
	for grown := true; grown; {
		grown = false
		for i := range r.boxes {
			if b := &r.boxes[i]; b.stoodOn(wanted) {
				for _, hive := range b.hives {
					if hive != none && !wanted[hive] {
						wanted[hive], grown = true, true
					}
				}
			}
		}
		for i := range r.hives {
			for _, hive := range r.sharedBees(i) {
				if wanted[i] != wanted[hive] {
					wanted[i], wanted[hive], grown = true, true, true
				}
			}
		}
	}
	return wanted
}

// sharedBees lists the hives to which bees of one went: boxes need not have gone
// with them.
func (r *replay) sharedBees(hive int) (to []int) {
	h := r.hives[hive].hive
	if h == nil {
		return nil
	}
	for i := range h.Events {
		if other, ok := r.hiveAt[h.Events[i].OtherID]; ok {
			to = append(to, other)
		}
	}
	return to
}

// stoodOn reports whether b stands or ever stood on one of the wanted hives;
// nil wants everything.
func (b *replayBox) stoodOn(wanted []bool) bool {
	if wanted == nil || b.present != none && wanted[b.present] {
		return true
	}
	for _, hive := range b.hives {
		if hive != none && wanted[hive] {
			return true
		}
	}
	return false
}
