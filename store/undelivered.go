package store

import (
	"context"

	"github.com/riverqueue/river"
)

// OweDelivery inserts the delivery jobs that messages still owed have lost: a
// job engine gives a job up after many failures of our own making, and a
// message is owed until it has one of its last states.
func (tx *Tx) OweDelivery(ctx context.Context) (jobs int, err error) {
	ids, err := tx.ids(ctx, `
		SELECT m.id FROM message m
		 WHERE m.state = 'owed' AND NOT EXISTS (
			SELECT FROM river_job j
			 WHERE j.kind = $1 AND j.state IN ('available', 'pending', 'retryable', 'running', 'scheduled')
			   AND j.args @> jsonb_build_object('club', m.club_id, 'message', m.id))
		 ORDER BY m.id LIMIT 1000`, DeliverArgs{}.Kind())
	if err != nil || len(ids) == 0 {
		return 0, tx.wrap(err, "list the messages that no job delivers")
	}
	params := make([]river.InsertManyParams, len(ids))
	for i, id := range ids {
		params[i].Args = DeliverArgs{Club: tx.club, Message: id}
	}
	inserted, err := tx.jobs.InsertManyTx(ctx, tx.tx, params)
	return len(inserted), tx.wrap(err, "owe the delivery of messages")
}
