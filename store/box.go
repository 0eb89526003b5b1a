package store

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// AddBox puts a new box on a hive, at a position counted from 1 at the bottom;
// 0 puts it on top. With hive 0 it goes into the store. ErrMarkTaken where a box
// of the hive has its mark.
func (tx *Tx) AddBox(ctx context.Context, hive int64, position int, b scheduler.Box, today scheduler.Date) (int64, *Replanned, error) {
	var lk locked
	if hive != 0 {
		var err error
		if lk, err = tx.lockHive(ctx, hive); err != nil {
			return 0, nil, err
		}
	}
	ids, err := tx.nextIDs(ctx, "box", 1)
	if err != nil {
		return 0, nil, err
	}
	b.ID = ids[0]
	pair := &boxPair{doc: &b, id: b.ID}
	if hive != 0 {
		stack, err := tx.stackOf(ctx, hive)
		if err != nil {
			return 0, nil, err
		}
		stack, pair.hive = insertAt(stack, b.ID, position), hive
		pair.position = slices.Index(stack, b.ID) + 1
		if err := tx.restack(ctx, hive, stack); err != nil { // makes room
			return 0, nil, err
		}
	}
	var batch pgx.Batch
	tx.queueBoxInserts(&batch, []*boxPair{pair})
	if hive == 0 {
		tx.queuePlaces(&batch, b.ID, []scheduler.BoxPlace{{From: b.SetUpOn, Where: scheduler.InStore}})
	}
	if err := tx.tx.SendBatch(ctx, &batch).Close(); err != nil {
		return 0, nil, tx.wrap(err, "add the box %q", b.Name)
	}
	if hive == 0 {
		return b.ID, nil, nil
	}
	if err := tx.markedApart(ctx, b.ID); err != nil {
		return 0, nil, err
	}
	tx.feedChanged()
	r, err := tx.replan(ctx, lk, today, everSince)
	return b.ID, r, err
}

// UpdateBox saves a box's mark, kind, day of setting up and repairs, and
// replans where it stands. ErrMarkTaken where another box of its hive has a mark
// that it did not have before.
func (tx *Tx) UpdateBox(ctx context.Context, b scheduler.Box, today scheduler.Date) (*Replanned, error) {
	lk, err := tx.lock(ctx, apiariesOfBoxes, []any{[]int64{b.ID}})
	if err != nil {
		return nil, tx.wrap(err, "lock the apiaries of box %d", b.ID)
	}
	var was string
	if err := tx.tx.QueryRow(ctx, `SELECT name FROM box WHERE id = $1`, b.ID).Scan(&was); err != nil {
		return nil, tx.wrap(err, "read the mark of box %d", b.ID)
	}
	err = tx.one(ctx, fmt.Sprintf("save box %d", b.ID), `
		UPDATE box SET name = $2, kind = $3, set_up_on = $4, repaired = $5 WHERE id = $1`,
		b.ID, b.Name, b.Kind, b.SetUpOn, orEmpty(b.Repaired))
	if err == nil && b.Name != was {
		err = tx.markedApart(ctx, b.ID)
	}
	if err != nil || len(lk.about) == 0 {
		return nil, err
	}
	tx.feedChanged()
	return tx.replan(ctx, lk, today, everSince)
}

// MoveBox takes a box to another place from a day on, and replans the apiaries
// that it leaves and reaches. On a hive it goes to to.Position, counted from 1
// at the bottom; 0 is on top. Its history must not run backwards, nothing
// leaves or reaches an apiary at a standstill (ErrStandstill), and no hive gets a
// second box of one mark (ErrMarkTaken).
func (tx *Tx) MoveBox(ctx context.Context, id int64, to scheduler.BoxPlace, today scheduler.Date) (*Replanned, error) {
	from, lk, err := tx.lockForMove(ctx, id, to)
	if err != nil {
		return nil, err
	}
	for _, a := range lk.about {
		if err := tx.notAtStandstill(ctx, a, to.From); err != nil {
			return nil, err
		}
	}
	places, err := tx.placesOf(ctx, id, from)
	if err != nil {
		return nil, err
	}
	if last := places[len(places)-1]; to.From < last.From {
		return nil, tx.wrap(ErrBackwards, "move box %d on %s, when it was moved on %s already,", id, to.From, last.From)
	}
	var stack []int64
	if from.hive != 0 {
		if stack, err = tx.stackOf(ctx, from.hive); err != nil {
			return nil, err
		}
		stack = without(stack, id)
	}
	// It is taken out first: two boxes never have the same position.
	var retired scheduler.Date
	if to.Where == scheduler.Retired {
		retired = to.From
	}
	if err := tx.one(ctx, fmt.Sprintf("take box %d off its hive", id),
		`UPDATE box SET hive_id = NULL, position = NULL, retired_on = $2 WHERE id = $1`, id, retired); err != nil {
		return nil, err
	}
	if err := tx.restack(ctx, from.hive, stack); err != nil {
		return nil, err
	}
	if to.Where == scheduler.OnHive {
		if to.Position, err = tx.putOn(ctx, id, to.HiveID, to.Position); err != nil {
			return nil, err
		}
	}
	var b pgx.Batch
	tx.queuePlaces(&b, id, append(places, to))
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, tx.wrap(err, "note where box %d is", id)
	}
	if len(lk.about) == 0 {
		return nil, nil // from the store to a neighbour, say
	}
	tx.feedChanged()
	return tx.replan(ctx, lk, today, everSince)
}

// OrderStack puts the boxes of a hive in an order, from the bottom up. It must
// name each of them once; ErrStackChanged otherwise.
func (tx *Tx) OrderStack(ctx context.Context, hive int64, boxes []int64, today scheduler.Date) (*Replanned, error) {
	lk, err := tx.lockHive(ctx, hive)
	if err != nil {
		return nil, err
	}
	stack, err := tx.stackOf(ctx, hive)
	if err != nil {
		return nil, err
	}
	have, want := slices.Sorted(slices.Values(stack)), slices.Sorted(slices.Values(boxes))
	if !slices.Equal(have, want) {
		return nil, tx.wrap(ErrStackChanged, "order the boxes of hive %d", hive)
	}
	if slices.Equal(stack, boxes) {
		return &Replanned{Plan: &scheduler.Plan{Today: today}}, nil
	}
	if err := tx.restack(ctx, hive, boxes); err != nil {
		return nil, err
	}
	tx.feedChanged()
	return tx.replan(ctx, lk, today, everSince)
}
