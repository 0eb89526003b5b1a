package feed

import (
	"context"
	"errors"
	"math"
	"slices"

	"pryday/notify/calendar"
	"pryday/scheduler"
	"pryday/store"
)

// kept are the entries of a club's calendar as they were written, by apiary:
// when some apiaries change, theirs are made anew and the others put beside.
type kept struct {
	events []keptEvent
	full   bool // there were as many as are read, so that one less makes room for another
}

type keptEvent struct {
	apiary int64
	calendar.Written
}

// size is the memory that kept entries hold, in bytes.
func (k *kept) size() (n int) {
	if k != nil {
		for i := range k.events {
			n += k.events[i].Size()
		}
	}
	return n
}

// part is a calendar of which only some apiaries are made anew.
type part struct {
	apiaries []int64 // that have changed since the kept entries held
	kept     *kept
}

// errWhole is about a calendar that has to be made whole, though only some
// apiaries changed.
var errWhole = errors.New("what changed hangs on other apiaries")

// holdsUpTo is the feed version up to which kept entries hold: any where there are
// none, so that nothing has changed since.
func (e *entry) holdsUpTo() int64 {
	if e == nil || e.kept == nil {
		return math.MaxInt64
	}
	return e.version
}

// partOf returns what of an older calendar still holds now that only certain
// apiaries have changed; nil when it has to be made whole.
func (e *entry) partOf(now *entry, link *store.FeedLink) *part {
	if e == nil || e.kept == nil || e.kept.full || e.link != now.link || e.day != now.day || e.version < link.Whole || e.version > link.Version {
		return nil
	}
	return &part{apiaries: link.Changed, kept: e.kept}
}

// check returns errWhole when a box of the visits stands at an apiary that was
// not read, so that the entry could not name it.
func (p *part) check(ctx context.Context, tx *store.Tx, club *scheduler.Club, visits []store.VisitRecord) error {
	if p == nil {
		return nil
	}
	read := map[int64]bool{}
	for _, a := range club.Apiaries {
		for _, h := range a.Hives {
			for i := range h.Boxes {
				read[h.Boxes[i].ID] = true
			}
		}
	}
	var missing []int64
	for i := range visits {
		for _, vb := range visits[i].Boxes {
			if !read[vb.BoxID] {
				missing = append(missing, vb.BoxID)
			}
		}
	}
	if len(missing) == 0 {
		return nil
	}
	elsewhere, err := tx.StandSomewhere(ctx, missing)
	if err == nil && elsewhere {
		err = errWhole
	}
	return err
}

// keep writes the entries of a club's calendar, puts beside them those that
// still hold, and keeps all of them.
func (e *entry) keep(f *calendar.Feed, visits []store.VisitRecord, p *part) error {
	k := &kept{full: f.More}
	if p != nil {
		for _, w := range p.kept.events {
			if !slices.Contains(p.apiaries, w.apiary) {
				k.events = append(k.events, w)
			}
		}
	}
	apiary := make(map[string]int64, len(visits))
	for i := range visits {
		apiary[visits[i].UID] = visits[i].ApiaryID
	}
	for i := range f.Events {
		w, err := calendar.Write(&f.Events[i])
		if err != nil {
			return err
		}
		k.events = append(k.events, keptEvent{apiary[w.UID], w})
	}
	f.Events, f.Written = nil, make([]calendar.Written, len(k.events))
	behind := 0
	for i, w := range k.events {
		f.Written[i] = w.Written
		if w.On < e.day {
			behind++
		}
	}
	k.full = k.full || behind >= store.FeedBehind || len(k.events)-behind >= store.FeedAhead
	if p != nil && k.full {
		return errWhole
	}
	e.kept = k
	return nil
}
