package store

import (
	"context"
	"errors"
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// atSequence reads a visit and locks its apiary, as planning does. It returns
// ErrVisitChanged unless sequence is the visit's present one.
func (tx *Tx) atSequence(ctx context.Context, id int64, sequence int) (*VisitRecord, locked, error) {
	var found []VisitRecord
	lk, err := tx.lock(ctx, apiaryOfVisit, []any{id}, func(b *pgx.Batch) { queueVisits(b, &found, `v.id = $1`, id) })
	if err == nil && len(found) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, lk, tx.wrap(err, "read visit %d", id)
	}
	v := &found[0]
	if v.Sequence != sequence {
		return nil, lk, tx.wrap(ErrVisitChanged, "change visit %d, seen at sequence %d and now %s at %d,", id, sequence, v.Status, v.Sequence)
	}
	return v, lk, nil
}

// change lets something happen to a visit and replans its apiary. What cannot
// happen to it any more is ErrVisitChanged too.
func (tx *Tx) change(ctx context.Context, id int64, sequence int, today scheduler.Date, happen func(*scheduler.Visit) error) (*Replanned, error) {
	was, lk, err := tx.atSequence(ctx, id, sequence)
	if err != nil {
		return nil, err
	}
	now := was.Visit
	now.NotBoxes = slices.Clone(now.NotBoxes)
	if err := happen(&now); err != nil {
		if errors.Is(err, scheduler.ErrVisitOver) {
			err = ErrVisitChanged
		}
		return nil, tx.wrap(err, "change visit %d, which is %s,", id, was.Status)
	}
	if now.Sequence == was.Sequence {
		return &Replanned{Plan: &scheduler.Plan{Today: today}}, nil // said before
	}
	var b pgx.Batch
	tx.queueVisitWrites(&b, nil, []VisitChange{{was.Visit, now}}, today)
	if !slices.Equal(was.NotBoxes, now.NotBoxes) {
		b.Queue(`DELETE FROM visit_not_box WHERE visit_id = $1`, id)
		b.Queue(insertNotBoxes, id, orEmpty(now.NotBoxes), tx.club)
	}
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		if code(err) == foreignKeyViolation {
			err = ErrNotFound
		}
		return nil, tx.wrap(err, "change visit %d", id)
	}
	tx.feedChangedAt(lk.all)
	return tx.replan(ctx, lk, today, 0)
}

// MoveVisit puts an open or unanswered visit on another day, pins it there and
// replans. It returns ErrVisitChanged unless sequence is the visit's present
// one, as do all functions below that take one.
func (tx *Tx) MoveVisit(ctx context.Context, id int64, sequence int, to, today scheduler.Date) (*Replanned, error) {
	return tx.change(ctx, id, sequence, today, func(v *scheduler.Visit) error { return v.Move(to) })
}

// PutOffVisit is MoveVisit by a member who, if expected on the visit, says with
// it that they go on the new day.
func (tx *Tx) PutOffVisit(ctx context.Context, id int64, sequence int, to scheduler.Date, member int64, today scheduler.Date) (*Replanned, error) {
	return tx.change(ctx, id, sequence, today, func(v *scheduler.Visit) error {
		if err := v.Move(to); err != nil || !slices.Contains(v.Who, member) {
			return err
		}
		return v.Take(member)
	})
}

// PinVisit holds a visit on its day, or lets planning move it again.
func (tx *Tx) PinVisit(ctx context.Context, id int64, sequence int, pinned bool, today scheduler.Date) (*Replanned, error) {
	return tx.change(ctx, id, sequence, today, func(v *scheduler.Visit) error {
		v.Pinned = pinned
		return v.Happen(scheduler.VisitReplanned)
	})
}

// CallOffVisit takes a visit out; nothing is planned for its boxes before a
// day, unless a hard limit falls first.
func (tx *Tx) CallOffVisit(ctx context.Context, id int64, sequence int, until, today scheduler.Date) (*Replanned, error) {
	return tx.change(ctx, id, sequence, today, func(v *scheduler.Visit) error { return v.CallOff(until) })
}

// ReopenVisit takes back that a visit was called off: it is again what it was.
func (tx *Tx) ReopenVisit(ctx context.Context, id int64, sequence int, today scheduler.Date) (*Replanned, error) {
	return tx.change(ctx, id, sequence, today, func(v *scheduler.Visit) error { return v.Happen(scheduler.VisitReopened) })
}

// FinishVisit marks a visit done on a day, with or without openings.
func (tx *Tx) FinishVisit(ctx context.Context, id int64, sequence int, on, today scheduler.Date) (*Replanned, error) {
	return tx.change(ctx, id, sequence, today, func(v *scheduler.Visit) error {
		v.On = on
		return v.Happen(scheduler.VisitFinished)
	})
}

// LeaveBoxOut takes a box off a visit, or puts it back.
func (tx *Tx) LeaveBoxOut(ctx context.Context, id int64, sequence int, box int64, out bool, today scheduler.Date) (*Replanned, error) {
	return tx.change(ctx, id, sequence, today, func(v *scheduler.Visit) error {
		v.NotBoxes = slices.DeleteFunc(v.NotBoxes, func(id int64) bool { return id == box })
		if out {
			v.NotBoxes = append(v.NotBoxes, box)
			slices.Sort(v.NotBoxes) // a set, kept in this order
		}
		return v.Happen(scheduler.VisitReplanned)
	})
}

// insertNotBoxes takes boxes $2 off visit $1 of club $3; those that are off it
// already stay so.
const insertNotBoxes = `
	INSERT INTO visit_not_box (club_id, visit_id, box_id)
	SELECT $3::bigint, $1::bigint, u.box_id FROM unnest($2::bigint[]) AS u(box_id)
	ON CONFLICT DO NOTHING`

// SetWho says who goes on a visit, in this order.
func (tx *Tx) SetWho(ctx context.Context, id int64, sequence int, members []int64, today scheduler.Date) (*Replanned, error) {
	return tx.change(ctx, id, sequence, today, func(v *scheduler.Visit) error {
		if slices.Equal(v.Who, members) && slices.Equal(v.Taken, members) {
			return nil
		}
		return v.SayWho(members)
	})
}

// TakeVisit notes that a member goes. Taking it twice changes nothing.
func (tx *Tx) TakeVisit(ctx context.Context, id int64, sequence int, member int64, today scheduler.Date) (*Replanned, error) {
	return tx.change(ctx, id, sequence, today, func(v *scheduler.Visit) error { return v.Take(member) })
}

// LeaveVisit notes that a member cannot go. Saying so twice changes nothing.
func (tx *Tx) LeaveVisit(ctx context.Context, id int64, sequence int, member int64, today scheduler.Date) (*Replanned, error) {
	return tx.change(ctx, id, sequence, today, func(v *scheduler.Visit) error { return v.HandOff(member) })
}

// putVisit writes a whole visit as it is, over was when that is not nil.
func (tx *Tx) putVisit(ctx context.Context, was *scheduler.Visit, v scheduler.Visit) error {
	if was == nil {
		if err := tx.numberVisits(ctx, []*scheduler.Visit{&v}); err != nil {
			return err
		}
	}
	var b pgx.Batch
	if was == nil {
		tx.queueVisitWrites(&b, []scheduler.Visit{v}, nil, v.On)
	} else {
		tx.queueVisitWrites(&b, nil, []VisitChange{{*was, v}}, v.On)
	}
	b.Queue(`UPDATE visit SET apiary_id = $2, first_seen = $3 WHERE id = $1`, v.ID, v.ApiaryID, v.FirstSeen)
	b.Queue(`DELETE FROM visit_not_box WHERE visit_id = $1`, v.ID)
	b.Queue(insertNotBoxes, v.ID, v.NotBoxes, tx.club)
	b.Queue(`DELETE FROM visit_not_opened WHERE visit_id = $1`, v.ID)
	b.Queue(insertNotOpened, v.ID, v.NotOpened, tx.club)
	return tx.wrap(tx.tx.SendBatch(ctx, &b).Close(), "save visit %s", v.UID)
}
