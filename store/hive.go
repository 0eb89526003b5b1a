package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// hiveFields is a hive without what stands in other tables.
func hiveFields(h *scheduler.Hive, id int64) *scheduler.Hive {
	return &scheduler.Hive{
		ID: id, Name: h.Name, BeeSpace: h.BeeSpace, Requeened: orNil(h.Requeened), RetiredOn: h.RetiredOn,
	}
}

func (tx *Tx) queueHiveInsert(b *pgx.Batch, apiary int64, h *scheduler.Hive) {
	b.Queue(`INSERT INTO hive (club_id, id, apiary_id, name, bee_space, requeened, retired_on) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
		tx.club, h.ID, apiary, h.Name, h.BeeSpace, orEmpty(h.Requeened), h.RetiredOn)
}

func (tx *Tx) queueHiveUpdate(b *pgx.Batch, h *scheduler.Hive) {
	b.Queue(`UPDATE hive SET name = $2, bee_space = $3, requeened = $4, retired_on = $5 WHERE id = $1`,
		h.ID, h.Name, h.BeeSpace, orEmpty(h.Requeened), h.RetiredOn)
}

// AddHive adds a hive without boxes. ErrExists when its apiary has one of
// that name.
func (tx *Tx) AddHive(ctx context.Context, apiary int64, h scheduler.Hive) (int64, error) {
	if _, err := tx.lockApiaries(ctx, apiary); err != nil {
		return 0, err
	}
	ids, err := tx.nextIDs(ctx, "hive", 1)
	if err != nil {
		return 0, err
	}
	var b pgx.Batch
	tx.queueHiveInsert(&b, apiary, hiveFields(&h, ids[0]))
	err = tx.tx.SendBatch(ctx, &b).Close()
	if code(err) == uniqueViolation {
		err = ErrExists
	}
	if err != nil {
		return 0, tx.wrap(err, "add the hive %q", h.Name)
	}
	tx.feedChanged()
	return ids[0], tx.setPeriods(ctx, "hive_id", ids[0], "leave-alone", h.LeaveAlone)
}

// UpdateHive saves everything of a hive but its boxes, and replans.
func (tx *Tx) UpdateHive(ctx context.Context, h scheduler.Hive, today scheduler.Date) (*Replanned, error) {
	lk, err := tx.lockHive(ctx, h.ID)
	if err != nil {
		return nil, err
	}
	var b pgx.Batch
	tx.queueHiveUpdate(&b, hiveFields(&h, h.ID))
	err = tx.tx.SendBatch(ctx, &b).Close()
	if code(err) == uniqueViolation {
		err = ErrExists
	}
	if err != nil {
		return nil, tx.wrap(err, "save the hive %q", h.Name)
	}
	if err := tx.setPeriods(ctx, "hive_id", h.ID, "leave-alone", h.LeaveAlone); err != nil {
		return nil, err
	}
	tx.feedChanged()
	return tx.replan(ctx, lk, today, everSince)
}

// orEmpty makes the list of a record without any what the table holds.
func orEmpty[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}
