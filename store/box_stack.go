package store

import (
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"pryday/scheduler"
)

// standing is where a box stands before it moves.
type standing struct {
	hive     int64
	position int
	setUp    scheduler.Date
}

// lockForMove locks a box and the apiaries that it leaves and reaches.
func (tx *Tx) lockForMove(ctx context.Context, id int64, to scheduler.BoxPlace) (standing, locked, error) {
	var at standing
	var reaches int64
	if to.Where == scheduler.OnHive {
		reaches = to.HiveID
	}
	known := reaches == 0
	lk, err := tx.lock(ctx, `SELECT apiary_id FROM hive WHERE id IN ((SELECT hive_id FROM box WHERE id = $1), $2)`, []any{id, reaches}, func(b *pgx.Batch) {
		b.Queue(`
			SELECT coalesce(hive_id, 0), coalesce(position, 0), set_up_on FROM box WHERE id = $1 FOR NO KEY UPDATE`, id).
			QueryRow(func(row pgx.Row) error { return row.Scan(&at.hive, &at.position, &at.setUp) })
		if !known {
			b.Queue(`SELECT EXISTS (SELECT FROM hive WHERE id = $1)`, reaches).QueryRow(func(row pgx.Row) error { return row.Scan(&known) })
		}
	})
	if err == nil && !known {
		err = ErrNotFound
	}
	return at, lk, tx.wrap(err, "find box %d and the hives that it leaves and reaches", id)
}

func (tx *Tx) notAtStandstill(ctx context.Context, apiary int64, on scheduler.Date) error {
	days, err := tx.periods(ctx, "apiary_id", apiary, "standstill")
	if err != nil {
		return err
	}
	for _, p := range days {
		if p.Contains(on) {
			return tx.wrap(ErrStandstill, "move a box of apiary %d on %s, %s,", apiary, on, p.Reason)
		}
	}
	return nil
}

// placesOf reads where a box has been; one that never moved was on its hive.
func (tx *Tx) placesOf(ctx context.Context, id int64, at standing) ([]scheduler.BoxPlace, error) {
	rows, err := list[placeRow](ctx, tx, selectPlaces+`WHERE box_id = $1 ORDER BY n`, id)
	if err != nil {
		return nil, tx.wrap(err, "read where box %d was", id)
	}
	var out []scheduler.BoxPlace
	for i := range rows {
		out = append(out, rows[i].place())
	}
	switch {
	case len(out) > 0:
	case at.hive != 0:
		out = []scheduler.BoxPlace{{From: at.setUp, Where: scheduler.OnHive, HiveID: at.hive, Position: at.position}}
	default:
		out = []scheduler.BoxPlace{{From: at.setUp, Where: scheduler.InStore}}
	}
	return out, nil
}

// stackOf lists the boxes of a hive from the bottom up.
func (tx *Tx) stackOf(ctx context.Context, hive int64) ([]int64, error) {
	ids, err := tx.ids(ctx, `SELECT id FROM box WHERE hive_id = $1 ORDER BY position`, hive)
	return ids, tx.wrap(err, "read the stack of hive %d", hive)
}

// restack gives those boxes of a hive that stand recorded their positions.
func (tx *Tx) restack(ctx context.Context, hive int64, stack []int64) error {
	_, err := tx.tx.Exec(ctx, `
		UPDATE box SET position = u.n
		  FROM unnest($2::bigint[]) WITH ORDINALITY AS u(id, n)
		 WHERE box.id = u.id AND box.hive_id = $1 AND box.position <> u.n`, hive, stack)
	return tx.wrap(err, "order the boxes of hive %d", hive)
}

// putOn puts a box that stands on no hive on one, and returns its position.
func (tx *Tx) putOn(ctx context.Context, id, hive int64, position int) (int, error) {
	stack, err := tx.stackOf(ctx, hive)
	if err != nil {
		return 0, err
	}
	stack = insertAt(stack, id, position)
	if err := tx.restack(ctx, hive, stack); err != nil {
		return 0, err
	}
	at := slices.Index(stack, id) + 1
	if _, err = tx.tx.Exec(ctx, `UPDATE box SET hive_id = $2, position = $3 WHERE id = $1`, id, hive, at); err != nil {
		return 0, tx.wrap(err, "put box %d on hive %d", id, hive)
	}
	return at, tx.markedApart(ctx, id)
}

// markedApart returns ErrMarkTaken when one of some boxes has the mark of another
// box of its hive, whatever the case.
func (tx *Tx) markedApart(ctx context.Context, boxes ...int64) error {
	var taken bool
	err := tx.tx.QueryRow(ctx, `
		SELECT EXISTS (SELECT FROM box b JOIN box other ON other.hive_id = b.hive_id AND other.id <> b.id AND lower(other.name) = lower(b.name)
		                WHERE b.id = ANY($1))`, boxes).Scan(&taken)
	if err == nil && taken {
		err = ErrMarkTaken
	}
	return tx.wrap(err, "look for the marks of boxes %v", boxes)
}

// insertAt puts id at a position counted from 1; 0, or one beyond the top, is
// on top.
func insertAt(stack []int64, id int64, position int) []int64 {
	if position < 1 || position > len(stack) {
		return append(stack, id)
	}
	return slices.Insert(stack, position-1, id)
}

func without(stack []int64, id int64) []int64 {
	return slices.DeleteFunc(slices.Clone(stack), func(b int64) bool { return b == id })
}

// SpareBox is a box on no hive, and where it is.
type SpareBox struct {
	ID     int64
	Name   string
	Kind   string
	Where  scheduler.Where
	LentTo string
	Until  scheduler.Date // when lent: promised back; zero when not known
}

// SpareBoxes lists the boxes in store and lent out, by name.
func (tx *Tx) SpareBoxes(ctx context.Context) ([]SpareBox, error) {
	out, err := list[SpareBox](ctx, tx, selectSpareBoxes)
	return out, tx.wrap(err, "list the boxes on no hive")
}

const selectSpareBoxes = `
		SELECT b.id, b.name, b.kind, p.place AS "where", p.lent_to, p.until_day AS until
		  FROM box b CROSS JOIN LATERAL (
		       SELECT place, lent_to, until_day FROM box_place p
		        WHERE p.club_id = b.club_id AND p.box_id = b.id ORDER BY p.n DESC LIMIT 1) p
		 WHERE b.hive_id IS NULL AND b.retired_on IS NULL
		 ORDER BY b.name, b.id LIMIT 500`

// HiveName is a hive by name.
type HiveName struct {
	ID       int64
	Name     string
	ApiaryID int64
	Apiary   string
}

// Others are what a box of some apiary may go to or come from.
type Others struct {
	Hives    []HiveName // in use, those of the apiary first
	Spare    []SpareBox
	Apiaries []ApiaryName // but the one
}

// ApiaryName is an apiary by name.
type ApiaryName struct {
	ID   int64
	Name string
}

// Others reads hives, at most most of them, what SpareBoxes lists, and the other
// apiaries.
func (tx *Tx) Others(ctx context.Context, apiary int64, most int) (o Others, err error) {
	var b pgx.Batch
	queue(&b, &o.Hives, selectHiveNames, apiary, most)
	queue(&b, &o.Spare, selectSpareBoxes)
	queue(&b, &o.Apiaries, `SELECT id, name FROM apiary WHERE id <> $1 ORDER BY id`, apiary)
	return o, tx.wrap(tx.tx.SendBatch(ctx, &b).Close(), "list what is beside apiary %d", apiary)
}

const selectHiveNames = `
		SELECT h.id, h.name, a.id AS apiary_id, a.name AS apiary
		  FROM hive h JOIN apiary a ON a.club_id = h.club_id AND a.id = h.apiary_id
		 WHERE h.apiary_id = ` + anyApiary + ` AND h.retired_on IS NULL
		 ORDER BY a.id <> $1, a.name, h.name, h.id LIMIT $2`
