package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

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
	b.Queue(`UPDATE visit SET not_boxes = $2, apiary_id = $3, day0 = $4 WHERE id = $1`,
		v.ID, orEmpty(v.NotBoxes), v.ApiaryID, v.FirstSeen)
	return tx.wrap(tx.tx.SendBatch(ctx, &b).Close(), "save visit %s", v.UID)
}
