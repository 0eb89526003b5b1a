package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// HiveGuessed is a hive with boxes of which nobody has said when they were last
// opened, though nobody was asked yet either.
type HiveGuessed struct {
	HiveID   int64
	ApiaryID int64
	Name     string
}

// queueGuessed lists those hives: while a box stands as it was guessed, with no
// opening on record.
func queueGuessed(b *pgx.Batch, into *[]HiveGuessed) {
	queue(b, into, `
		SELECT DISTINCT h.id AS hive_id, h.apiary_id, h.name
		  FROM box b
		  JOIN hive h ON h.club_id = b.club_id AND h.id = b.hive_id
		 WHERE `+standsGuessed+` AND h.retired_on IS NULL
		 ORDER BY h.apiary_id, h.id`)
}

// standsGuessed is true of boxes b that are to be asked about.
const standsGuessed = `b.guessed_on IS NOT NULL AND NOT b.guess_answered AND EXISTS (
	SELECT FROM due d WHERE d.club_id = b.club_id AND d.box_id = b.id AND d.openings = 0 AND d.since = b.set_up_on)`

// AnswerGuess moves the guessed boxes of a hive to a day on which they were last
// opened, roughly, or with the zero day leaves them as they are, asks no more, and
// replans. A box does not move past what else is known of it. ErrNotFound when
// there is nothing to ask about that hive.
func (tx *Tx) AnswerGuess(ctx context.Context, hive int64, day, today scheduler.Date) (*Replanned, error) {
	lk, err := tx.lockHive(ctx, hive)
	if err != nil {
		return nil, err
	}
	ids, err := tx.ids(ctx, `SELECT b.id FROM box b WHERE b.hive_id = $1 AND `+standsGuessed+` ORDER BY b.id`, hive)
	if err == nil && len(ids) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, tx.wrap(err, "find the guessed boxes of hive %d", hive)
	}
	var b pgx.Batch
	b.Queue(`
		UPDATE box SET guess_answered = true, set_up_on = least(coalesce($2, set_up_on), guessed_on,
		       (SELECT min(from_day) FROM box_place p WHERE p.club_id = box.club_id AND p.box_id = box.id AND p.n > 1),
		       (SELECT min(on_day) FROM opening o WHERE o.club_id = box.club_id AND o.box_id = box.id),
		       (SELECT min(r) FROM unnest(repaired) r))
		 WHERE id = ANY($1)`, ids, day)
	b.Queue(`
		UPDATE box_place p SET from_day = b.set_up_on FROM box b
		 WHERE b.club_id = p.club_id AND b.id = p.box_id AND b.id = ANY($1) AND p.n = 1`, ids)
	if err := tx.tx.SendBatch(ctx, &b).Close(); err != nil {
		return nil, tx.wrap(err, "save when the boxes of hive %d were last opened, roughly,", hive)
	}
	tx.feedChanged()
	return tx.replan(ctx, lk, today, everSince)
}
