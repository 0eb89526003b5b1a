package store

import (
	"context"
	"slices"

	"github.com/jackc/pgx/v5"
)

// locked are apiaries that nobody else changes or plans before the transaction
// ends, by id.
type locked struct {
	about []int64 // those that the change is about
	all   []int64 // with all that share boxes with them
}

// What leads to the apiaries that a change is about.
const (
	theseApiaries = `SELECT unnest($1::bigint[])`
	apiaryOfHive  = `SELECT apiary_id FROM hive WHERE id = $1`
	apiaryOfVisit = `SELECT apiary_id FROM visit WHERE id = $1`
	// Where boxes stand, or stood if they stand on no hive now: an older opening
	// may only now be recorded. Boxes that were always in store have none.
	apiariesOfBoxes = `
		SELECT apiary_id FROM hive WHERE id = ANY(ARRAY(
			SELECT hive_id FROM box WHERE id = ANY($1)
			UNION
			SELECT p.hive_id FROM box_place p JOIN box b ON b.club_id = p.club_id AND b.id = p.box_id
			 WHERE p.box_id = ANY($1) AND b.hive_id IS NULL))`
)

// together are the apiaries to be planned with some, and whether they are of
// those: the ones linked by a box that stood on hives of both, or by bees that
// went from one to the other though no box did, and the ones linked to them.
func together(some string) string {
	return `
	WITH RECURSIVE about(apiary_id) AS (` + some + `), linked(apiary_id) AS (
		SELECT apiary_id FROM about
		UNION
		SELECT h2.apiary_id
		  FROM linked
		  JOIN hive h1 ON h1.apiary_id = linked.apiary_id
		  CROSS JOIN LATERAL (
		       SELECT p2.hive_id AS id
		         FROM box_place p1 JOIN box_place p2 ON p2.club_id = p1.club_id AND p2.box_id = p1.box_id
		        WHERE p1.club_id = h1.club_id AND p1.hive_id = h1.id
		       UNION ALL
		       SELECT e.other_hive_id FROM colony_event e WHERE e.hive_id = h1.id
		       UNION ALL
		       SELECT e.hive_id FROM colony_event e WHERE e.other_hive_id = h1.id) with_it
		  JOIN hive h2 ON h2.club_id = h1.club_id AND h2.id = with_it.id)
	SELECT id, id = ANY(ARRAY(SELECT apiary_id FROM about)) FROM apiary
	 WHERE id IN (SELECT apiary_id FROM linked) ORDER BY id`
}

func queueTogether(b *pgx.Batch, into *locked, sql string, args ...any) {
	b.Queue(sql, args...).Query(func(rows pgx.Rows) error {
		var id int64
		var about bool
		_, err := pgx.ForEachRow(rows, []any{&id, &about}, func() error {
			into.all = append(into.all, id)
			if about {
				into.about = append(into.about, id)
			}
			return nil
		})
		return err
	})
}

// lock locks the apiaries that a change is about, with all that share boxes
// with them, in the order of their ids. What also queues is read or locked in
// the same round trip, after that.
func (tx *Tx) lock(ctx context.Context, about string, args []any, also ...func(*pgx.Batch)) (locked, error) {
	var then, now locked
	var b pgx.Batch
	queueTogether(&b, &then, together(about)+` FOR NO KEY UPDATE`, args...)
	for _, queue := range also {
		queue(&b)
	}
	queueTogether(&b, &now, together(about), args...)
	err := tx.tx.SendBatch(ctx, &b).Close()
	if err == nil && !(slices.Equal(then.all, now.all) && slices.Equal(then.about, now.about)) {
		err = errAgain // something moved while we waited
	}
	return now, err
}

// lockApiaries is lock for apiaries by their ids; ErrNotFound unless the club
// has each of them.
func (tx *Tx) lockApiaries(ctx context.Context, apiaries ...int64) (locked, error) {
	lk, err := tx.lock(ctx, theseApiaries, []any{apiaries})
	if err != nil {
		return lk, tx.wrap(err, "lock apiaries %v", apiaries)
	}
	for _, id := range apiaries {
		if !slices.Contains(lk.about, id) {
			return lk, tx.wrap(ErrNotFound, "lock apiary %d", id)
		}
	}
	return lk, nil
}

// lockHive is lock for the apiary of a hive; ErrNotFound when there is none.
func (tx *Tx) lockHive(ctx context.Context, hive int64) (locked, error) {
	lk, err := tx.lock(ctx, apiaryOfHive, []any{hive})
	if err == nil && len(lk.about) == 0 {
		err = ErrNotFound
	}
	return lk, tx.wrap(err, "find the apiary of hive %d", hive)
}
