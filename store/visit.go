package store

import (
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// AtSequence locks a visit and reads it. It returns ErrVisitChanged, with the
// visit as it is now, unless sequence is its present one and it is still open.
func (tx *Tx) AtSequence(ctx context.Context, id int64, sequence int) (*VisitRecord, error) {
	// The apiary first, as planning does: two locks in the other order could
	// wait for each other.
	apiaries, err := tx.ids(ctx, `SELECT apiary_id FROM visit WHERE id = $1`, id)
	if err == nil && len(apiaries) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, tx.wrap(err, "read visit %d", id)
	}
	if _, err := tx.lockTogether(ctx, apiaries); err != nil {
		return nil, err
	}
	v, err := tx.Visit(ctx, id)
	if err != nil {
		return nil, err
	}
	if v.Sequence != sequence || !v.Status.Open() {
		return v, tx.wrap(ErrVisitChanged, "change visit %d, seen at sequence %d and now %s at %d,", id, sequence, v.Status, v.Sequence)
	}
	return v, nil
}

// change does something to a visit and replans its apiary. In do, $1 is the
// visit, and arguments count from $2.
func (tx *Tx) change(ctx context.Context, id int64, sequence int, today scheduler.Date, do string, args ...any) (*Replanned, error) {
	v, err := tx.AtSequence(ctx, id, sequence)
	if err != nil {
		return nil, err
	}
	var b pgx.Batch
	b.Queue(`UPDATE visit SET sequence = sequence + 1, changed_at = now() WHERE id = $1`, id)
	b.Queue(do, append([]any{id}, args...)...)
	err = tx.tx.SendBatch(ctx, &b).Close()
	if code(err) == foreignKeyViolation {
		err = ErrNotFound
	}
	if err != nil {
		return nil, tx.wrap(err, "change visit %d", id)
	}
	tx.feedChanged()
	return tx.Replan(ctx, v.ApiaryID, today)
}

// MoveVisit puts an open visit on another day, pins it there and replans. It
// returns ErrVisitChanged unless sequence is the visit's present one, as do
// all functions below that take one.
func (tx *Tx) MoveVisit(ctx context.Context, id int64, sequence int, to, today scheduler.Date) (*Replanned, error) {
	return tx.change(ctx, id, sequence, today, `UPDATE visit SET on_day = $2, pinned = true WHERE id = $1`, to)
}

// PinVisit holds a visit on its day, or lets planning move it again.
func (tx *Tx) PinVisit(ctx context.Context, id int64, sequence int, pinned bool, today scheduler.Date) (*Replanned, error) {
	return tx.change(ctx, id, sequence, today, `UPDATE visit SET pinned = $2 WHERE id = $1`, pinned)
}

// CancelVisit takes a visit out; its boxes are planned anew.
func (tx *Tx) CancelVisit(ctx context.Context, id int64, sequence int, today scheduler.Date) (*Replanned, error) {
	return tx.change(ctx, id, sequence, today, `UPDATE visit SET status = 'cancelled', cancelled_until = $2 WHERE id = $1`, today+cancelledDays)
}

// FinishVisit marks a visit done on a day, with or without openings.
func (tx *Tx) FinishVisit(ctx context.Context, id int64, sequence int, on, today scheduler.Date) (*Replanned, error) {
	return tx.change(ctx, id, sequence, today, `UPDATE visit SET status = 'done', on_day = $2 WHERE id = $1`, on)
}

// LeaveBoxOut takes a box off a visit, or puts it back.
func (tx *Tx) LeaveBoxOut(ctx context.Context, id int64, sequence int, box int64, out bool, today scheduler.Date) (*Replanned, error) {
	if !out {
		return tx.change(ctx, id, sequence, today, `DELETE FROM visit_not_box WHERE visit_id = $1 AND box_id = $2`, box)
	}
	return tx.change(ctx, id, sequence, today, insertNotBoxes, []int64{box}, tx.club)
}

// insertNotBoxes takes boxes $2 off visit $1 of club $3; those that are off it
// already stay so.
const insertNotBoxes = `
	INSERT INTO visit_not_box (club_id, visit_id, box_id)
	SELECT $3::bigint, $1::bigint, u.box_id FROM unnest($2::bigint[]) AS u(box_id)
	ON CONFLICT DO NOTHING`

// SetWho says who goes on a visit, in this order.
func (tx *Tx) SetWho(ctx context.Context, id int64, sequence int, members []int64) error {
	v, err := tx.AtSequence(ctx, id, sequence)
	if err != nil {
		return err
	}
	return tx.setWho(ctx, v, members)
}

// TakeVisit adds a member to those who go. Taking it twice changes nothing.
func (tx *Tx) TakeVisit(ctx context.Context, id int64, sequence int, member int64) error {
	v, err := tx.AtSequence(ctx, id, sequence)
	if err != nil || slices.Contains(v.Who, member) {
		return err
	}
	return tx.setWho(ctx, v, append(slices.Clone(v.Who), member))
}

// LeaveVisit takes a member off those who go.
func (tx *Tx) LeaveVisit(ctx context.Context, id int64, sequence int, member int64) error {
	v, err := tx.AtSequence(ctx, id, sequence)
	if err != nil || !slices.Contains(v.Who, member) {
		return err
	}
	return tx.setWho(ctx, v, slices.DeleteFunc(slices.Clone(v.Who), func(id int64) bool { return id == member }))
}

func (tx *Tx) setWho(ctx context.Context, v *VisitRecord, members []int64) error {
	if slices.Equal(v.Who, members) {
		return nil
	}
	now := v.Visit
	now.Who = members
	var b pgx.Batch
	b.Queue(`UPDATE visit SET sequence = sequence + 1, changed_at = now() WHERE id = $1`, v.ID)
	b.Queue(`DELETE FROM visit_member WHERE visit_id = $1`, v.ID)
	tx.queueVisitMembers(&b, []scheduler.Visit{now})
	err := tx.tx.SendBatch(ctx, &b).Close()
	if code(err) == foreignKeyViolation {
		err = ErrNotFound
	}
	tx.feedChanged()
	return tx.wrap(err, "say who goes on visit %d", v.ID)
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
	return tx.wrap(tx.tx.SendBatch(ctx, &b).Close(), "save visit %s", v.UID)
}
