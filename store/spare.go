package store

import (
	"context"

	"pryday/scheduler"
)

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
	out, err := list[SpareBox](ctx, tx, `
		SELECT b.id, b.name, b.kind, p.place AS "where", p.lent_to, p.until_day AS until
		  FROM box b CROSS JOIN LATERAL (
		       SELECT place, lent_to, until_day FROM box_place p
		        WHERE p.club_id = b.club_id AND p.box_id = b.id ORDER BY p.n DESC LIMIT 1) p
		 WHERE b.hive_id IS NULL AND b.retired_on IS NULL
		 ORDER BY b.name, b.id LIMIT 500`)
	return out, tx.wrap(err, "list the boxes on no hive")
}

// HiveName is a hive by name.
type HiveName struct {
	ID       int64
	Name     string
	ApiaryID int64
	Apiary   string
}

// HiveNames lists the hives in use, those of one apiary first, at most most.
func (tx *Tx) HiveNames(ctx context.Context, first int64, most int) ([]HiveName, error) {
	out, err := list[HiveName](ctx, tx, `
		SELECT h.id, h.name, a.id AS apiary_id, a.name AS apiary
		  FROM hive h JOIN apiary a ON a.club_id = h.club_id AND a.id = h.apiary_id
		 WHERE h.apiary_id = `+anyApiary+` AND h.retired_on IS NULL
		 ORDER BY a.id <> $1, a.name, h.name, h.id LIMIT $2`, first, most)
	return out, tx.wrap(err, "list the hives")
}
