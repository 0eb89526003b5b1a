package store

import (
	"encoding/json"
	"fmt"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// knownOpenings are the openings that stand, by their ids, and what became of
// them.
type knownOpenings struct {
	opening map[string]*scheduler.Opening
	box     map[string]int64  // that an opening is of
	next    map[string]string // what corrects an opening
	boxes   map[int64]*scheduler.Box
}

func newKnownOpenings() *knownOpenings {
	return &knownOpenings{map[string]*scheduler.Opening{}, map[string]int64{}, map[string]string{}, map[int64]*scheduler.Box{}}
}

// knownFrom takes what was read, in the order recorded.
func knownFrom(l *loading) *knownOpenings {
	k := newKnownOpenings()
	boxes := map[int64]*scheduler.Box{}
	for i := range l.openings {
		id := l.openings[i].boxID
		boxes[id] = &scheduler.Box{ID: id}
	}
	l.addOpenings(boxes)
	for id, b := range boxes {
		for i := range b.Openings {
			k.add(id, &b.Openings[i])
		}
	}
	return k
}

func (k *knownOpenings) add(box int64, o *scheduler.Opening) {
	k.opening[o.ID], k.box[o.ID] = o, box
	if o.Supersedes != "" {
		k.next[o.Supersedes] = o.ID
	}
	b := k.boxes[box]
	if b == nil {
		b = &scheduler.Box{ID: box}
		k.boxes[box] = b
	}
	b.Openings = append(b.Openings, *o)
}

// openings returns those that are known by now, by box, in the order recorded.
func (k *knownOpenings) openings() map[int64][]scheduler.Opening {
	out := make(map[int64][]scheduler.Opening, len(k.boxes))
	for id, b := range k.boxes {
		out[id] = b.Openings[:len(b.Openings):len(b.Openings)]
	}
	return out
}

// last is what an opening has become: itself, or its last correction.
func (k *knownOpenings) last(id string) *scheduler.Opening {
	for k.next[id] != "" {
		id = k.next[id]
	}
	return k.opening[id]
}

// settleAll returns the openings to record as they are to be recorded, and
// notes in r which those are and which yield.
func (k *knownOpenings) settleAll(openings []BoxOpening, r *Recorded) ([]BoxOpening, error) {
	var fresh []BoxOpening
	for _, o := range openings {
		if k.yields(&o) {
			r.Yielded = append(r.Yielded, o.BoxID)
			continue
		}
		records, err := k.settle(o.BoxID, &o.Opening)
		if err != nil {
			return nil, err
		}
		if records {
			k.add(o.BoxID, &o.Opening)
			fresh, r.New = append(fresh, o), append(r.New, o.Opening.ID)
		}
	}
	return fresh, nil
}

func (k *knownOpenings) yields(o *BoxOpening) bool {
	if !o.Yields || o.Opening.Supersedes != "" || k.opening[o.Opening.ID] != nil {
		return false
	}
	b := k.boxes[o.BoxID]
	return b != nil && b.OpeningOn(o.Opening.On) != nil
}

// settle reports whether an opening is to be recorded; one that came before
// with other answers is made a correction.
func (k *knownOpenings) settle(box int64, o *scheduler.Opening) (records bool, err error) {
	switch first := k.opening[o.ID]; {
	case first == nil && o.Supersedes == "":
		return true, nil
	case first == nil:
		return k.settleCorrection(box, o)
	case k.box[o.ID] != box:
		return false, fmt.Errorf("%w: opening %s, which is of box %d and not of box %d", ErrExists, o.ID, k.box[o.ID], box)
	case first.SameAnswers(o) && first.SameOpener(o):
		return false, nil
	}
	first := o.ID
	if o.ID, err = idOfAnswers(*o); err != nil {
		return false, err
	}
	o.Supersedes = k.last(first).ID
	return k.opening[o.ID] == nil, nil
}

func (k *knownOpenings) settleCorrection(box int64, o *scheduler.Opening) (records bool, err error) {
	seen := k.opening[o.Supersedes]
	if seen == nil || k.box[seen.ID] != box {
		return false, fmt.Errorf("%w: opening %s of box %d, to be corrected", ErrNotFound, o.Supersedes, box)
	}
	switch last := k.last(seen.ID); {
	case last == seen:
		return true, nil
	case last.Void && o.Void, last.SameAnswers(o) && last.SameOpener(o):
		return false, nil
	case last.Void:
		return false, fmt.Errorf("%w: opening %s of box %d", ErrTakenBack, seen.ID, box)
	default:
		return false, fmt.Errorf("%w: opening %s of box %d, by %s", ErrSuperseded, seen.ID, box, last.ID)
	}
}

// idOfAnswers gives the correction of an opening an id that follows from its
// answers, so that one that comes twice counts once.
func idOfAnswers(o scheduler.Opening) (string, error) {
	first, err := uuid.Parse(o.ID)
	if err != nil {
		return "", err
	}
	o.ID, o.Supersedes = "", ""
	answers, err := json.Marshal(o)
	return uuid.NewSHA1(first, answers).String(), err
}
