package store

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// BoxOpening is one opening of one box, to be recorded.
type BoxOpening struct {
	BoxID   int64
	Opening scheduler.Opening // its ID a UUID; empty gets a random one
	Yields  bool              // to another of that day, which whoever opened had not seen
}

// Recorded tells what recording openings changed.
type Recorded struct {
	New       []string                     // ids of the openings recorded
	Yielded   []int64                      // boxes that have another of that day already
	Before    map[int64]scheduler.BoxState // by box id, of the apiaries planned; nil when none was
	After     map[int64]scheduler.BoxState
	Replanned *Replanned // nil when nothing was new or no box stands on a hive
}

// RecordOpenings adds openings and replans the apiaries of their boxes, in
// this transaction.
//
// An opening whose ID is known changes nothing if it says the same: it came
// twice. If it says something else, it corrects what came first. One that
// names another in Supersedes, as whoever corrects saw it, corrects that:
// ErrNotFound if the box has no such opening, ErrSuperseded if it has been
// corrected to something else meanwhile, ErrTakenBack if it has been taken
// back; nothing changes if it says by now what it should.
func (tx *Tx) RecordOpenings(ctx context.Context, openings []BoxOpening, today scheduler.Date) (*Recorded, error) {
	openings, err := withIDs(openings)
	if err != nil {
		return nil, tx.wrap(err, "record openings")
	}
	lk, known, err := tx.lockBoxes(ctx, openings)
	if err != nil {
		return nil, tx.wrap(err, "record %d openings", len(openings))
	}
	r, before := &Recorded{}, known.openings()
	fresh, err := known.settleAll(openings, r)
	if err != nil || len(fresh) == 0 {
		return r, tx.wrap(err, "record openings")
	}
	insert := func(b *pgx.Batch) { tx.queueOpeningInserts(b, fresh) }
	tx.feedChangedAt(lk.all) // what to bring and to beware of, even where no visit changes
	if len(lk.about) == 0 {
		var b pgx.Batch
		insert(&b)
		return r, tx.wrap(openingError(tx.tx.SendBatch(ctx, &b).Close()), "record %d openings", len(fresh))
	}
	l, err := tx.loadForPlanning(ctx, lk, today, insert)
	if err != nil {
		return nil, tx.wrap(openingError(err), "record %d openings", len(fresh))
	}
	c := l.assemble()
	tx.foretell(l, c, before, fresh, today)
	for _, o := range fresh {
		if o.Opening.Void {
			c.TakenBack(o.BoxID, o.Opening.On)
		}
	}
	if r.Replanned, err = tx.planAssembled(ctx, l, c, lk, today, firstDay(fresh)); err != nil {
		return nil, err
	}
	r.Before, r.After = l.statesByBox(), r.Replanned.statesByBox()
	return r, nil
}

// lockBoxes locks the apiaries of boxes, and boxes that stand at none, and then
// reads the openings of those boxes, and others that have the same ids.
func (tx *Tx) lockBoxes(ctx context.Context, openings []BoxOpening) (locked, *knownOpenings, error) {
	boxes, ids := make([]int64, len(openings)), make([]string, len(openings))
	for i, o := range openings {
		boxes[i], ids[i] = o.BoxID, o.Opening.ID
	}
	l := &loading{}
	lk, err := tx.lock(ctx, apiariesOfBoxes, []any{boxes}, func(b *pgx.Batch) {
		b.Queue(`SELECT FROM box WHERE id = ANY($1) AND hive_id IS NULL ORDER BY id FOR NO KEY UPDATE`, boxes)
		l.queueOpeningsWhere(b, `(o.box_id = ANY($1) OR o.id = ANY($2::uuid[]))`, `o.seq`, boxes, ids)
	})
	if err != nil {
		return lk, nil, err
	}
	return lk, knownFrom(l), nil
}

// openingError says what the database has against an opening.
func openingError(err error) error {
	switch code(err) {
	case uniqueViolation: // another was faster, and is known now
		return fmt.Errorf("%w: %w", errAgain, err)
	case foreignKeyViolation:
		return fmt.Errorf("%w: a box or a member of these openings", ErrNotFound)
	}
	return err
}

// RecordOpening is RecordOpenings of one.
func (tx *Tx) RecordOpening(ctx context.Context, box int64, o scheduler.Opening, today scheduler.Date) (*Recorded, error) {
	return tx.RecordOpenings(ctx, []BoxOpening{{BoxID: box, Opening: o}}, today)
}

// Openings reads all openings of a box in the order recorded.
func (tx *Tx) Openings(ctx context.Context, box int64) ([]scheduler.Opening, error) {
	l := &loading{}
	var b pgx.Batch
	l.queueOpeningsWhere(&b, `o.box_id = $1`, `o.seq`, box)
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, tx.wrap(err, "read the openings of box %d", box)
	}
	found := scheduler.Box{ID: box}
	l.addOpenings(map[int64]*scheduler.Box{box: &found})
	return found.Openings, nil
}

func withIDs(openings []BoxOpening) ([]BoxOpening, error) {
	out := slices.Clone(openings)
	for i := range out {
		o := &out[i].Opening
		if o.ID == "" {
			o.ID = uuid.NewString()
		}
		if err := normalIDs(o); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// normalIDs writes the ids of an opening as the database does.
func normalIDs(o *scheduler.Opening) error {
	if o.ID == "" {
		return errors.New("it has no id")
	}
	for _, id := range []*string{&o.ID, &o.Supersedes} {
		if *id == "" {
			continue
		}
		read, err := uuid.Parse(*id)
		if err != nil {
			return fmt.Errorf("opening id %q is not a UUID", *id)
		}
		*id = read.String()
	}
	return nil
}

// firstDay is the earliest day that openings change something about; with a
// correction among them that may be any day.
func firstDay(openings []BoxOpening) scheduler.Date {
	first := scheduler.MaxDate
	for _, o := range openings {
		if o.Opening.Supersedes != "" {
			return everSince
		}
		first = min(first, o.Opening.On)
	}
	return first
}
