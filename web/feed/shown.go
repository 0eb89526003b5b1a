package feed

import (
	"context"
	"errors"
	"slices"
	"time"

	"pryday/notify/calendar"
	"pryday/store"
)

// errOvertaken is about a calendar made from records that moved on, and shown
// to somebody, while it was made.
var errOvertaken = errors.New("a newer calendar was shown meanwhile")

// follow gives the events of a link's calendar the sequence and the time of
// their last change, as its readers saw them change: by a move of the visit,
// and as well by other hours, another language or a renamed box. What is shown
// for the first time or otherwise than before is written down; all else costs
// no writing.
func (f *Feeds) follow(ctx context.Context, e *entry, d *draft) ([]calendar.Event, error) {
	ids := make(map[string]int64, len(d.visits))
	for i := range d.visits {
		ids[d.visits[i].UID] = d.visits[i].ID
	}
	now := f.cfg.Clock.Now()
	out := slices.Clone(d.Events)
	if len(stamp(out, ids, d.shown, now)) == 0 {
		return out, nil
	}
	err := f.cfg.Store.InClub(ctx, e.club, func(tx *store.Tx) error {
		version, shown, err := tx.LockShown(ctx, e.link, d.visits)
		if err != nil {
			return err
		}
		if version > e.version {
			return errOvertaken
		}
		out = slices.Clone(d.Events)
		return tx.Show(ctx, e.link, e.version, stamp(out, ids, shown, now))
	})
	return out, err
}

// stamp gives events the sequence and the time of their last change, by what
// was shown of their visits before, and returns what is new. A change raises
// both (RFC 5545, 3.8.7.2 to 3.8.7.4); what says the same keeps both, whatever
// happened to the visit.
func stamp(events []calendar.Event, ids map[string]int64, shown map[int64]store.ShownEntry, now time.Time) (changed []store.ShownEntry) {
	for i := range events {
		e := &events[i]
		was, known := shown[ids[e.UID]]
		digest := e.Digest()
		at := e.ChangedAt.Truncate(time.Second)
		switch {
		case known && was.Digest == digest:
			e.Sequence, e.ChangedAt = was.Sequence, was.ChangedAt
			continue
		case known:
			e.Sequence = max(e.Sequence, was.Sequence+1)
			if !at.After(was.ChangedAt) {
				at = now.Truncate(time.Second)
			}
			if !at.After(was.ChangedAt) { // twice in a second, which is all that a calendar can tell
				at = was.ChangedAt.Add(time.Second)
			}
		}
		e.ChangedAt = at
		changed = append(changed, store.ShownEntry{VisitID: ids[e.UID], Digest: digest, Sequence: e.Sequence, ChangedAt: at})
	}
	return changed
}
