package store

import (
	"context"
	"slices"

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

// GuessedBox is a box of which it was guessed when it was last opened.
type GuessedBox struct {
	BoxID   int64
	SetUpOn scheduler.Date // the day that is taken for its last opening
}

// AnswerGuess moves the guessed boxes of a hive to a day on which they were last
// opened, roughly, or with the zero day leaves them as they are, asks no more, and
// replans. A box does not move past what else is known of it. It returns the boxes
// as they were, for AskGuessAgain. ErrNotFound when there is nothing to ask about
// that hive.
func (tx *Tx) AnswerGuess(ctx context.Context, hive int64, day, today scheduler.Date) ([]GuessedBox, *Replanned, error) {
	lk, err := tx.lockHive(ctx, hive)
	if err != nil {
		return nil, nil, err
	}
	was, err := list[GuessedBox](ctx, tx, `SELECT b.id AS box_id, b.set_up_on FROM box b WHERE b.hive_id = $1 AND `+standsGuessed+` ORDER BY b.id`, hive)
	if err == nil && len(was) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, nil, tx.wrap(err, "find the guessed boxes of hive %d", hive)
	}
	now := slices.Clone(was)
	for i := range now {
		if day != 0 {
			now[i].SetUpOn = day
		}
	}
	if err := tx.setGuess(ctx, now, true); err != nil {
		return nil, nil, tx.wrap(err, "save when the boxes of hive %d were last opened, roughly,", hive)
	}
	r, err := tx.replan(ctx, lk, today, everSince)
	return was, r, err
}

// AskGuessAgain takes the answer for boxes of a hive back: each is on the day that
// was guessed for it, nobody has been asked, and it replans. ErrNotFound when one of
// them stands elsewhere now, or no answer for it is there to be taken back.
func (tx *Tx) AskGuessAgain(ctx context.Context, hive int64, was []GuessedBox, today scheduler.Date) (*Replanned, error) {
	lk, err := tx.lockHive(ctx, hive)
	if err != nil {
		return nil, err
	}
	answered, err := tx.ids(ctx, `SELECT id FROM box WHERE hive_id = $1 AND guessed_on IS NOT NULL AND guess_answered`, hive)
	if err == nil && (len(was) == 0 || slices.ContainsFunc(was, func(b GuessedBox) bool { return !slices.Contains(answered, b.BoxID) })) {
		err = ErrNotFound
	}
	if err == nil {
		err = tx.setGuess(ctx, was, false)
	}
	if err != nil {
		return nil, tx.wrap(err, "ask again when the boxes of hive %d were last opened", hive)
	}
	return tx.replan(ctx, lk, today, everSince)
}

// setGuess puts guessed boxes on a day, as far as what else is known of them
// allows.
func (tx *Tx) setGuess(ctx context.Context, boxes []GuessedBox, answered bool) error {
	var ids []int64
	var days []scheduler.Date
	for _, x := range boxes {
		ids, days = append(ids, x.BoxID), append(days, x.SetUpOn)
	}
	var b pgx.Batch
	b.Queue(`
		UPDATE box SET guess_answered = $3, set_up_on = least(u.day, guessed_on,
		       (SELECT min(from_day) FROM box_place p WHERE p.club_id = box.club_id AND p.box_id = box.id AND p.n > 1),
		       (SELECT min(on_day) FROM opening o WHERE o.club_id = box.club_id AND o.box_id = box.id),
		       (SELECT min(r) FROM unnest(repaired) r))
		  FROM unnest($1::bigint[], $2::date[]) AS u(id, day)
		 WHERE box.id = u.id`, ids, days, answered)
	b.Queue(`
		UPDATE box_place p SET from_day = b.set_up_on FROM box b
		 WHERE b.club_id = p.club_id AND b.id = p.box_id AND b.id = ANY($1) AND p.n = 1`, ids)
	tx.feedChanged()
	return tx.tx.SendBatch(ctx, &b).Close()
}
