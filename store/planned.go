package store

import (
	"context"

	"pryday/scheduler"
)

// Planned reports whether every apiary of the club was planned for a day or a
// later one.
func (tx *Tx) Planned(ctx context.Context, day scheduler.Date) (bool, error) {
	var all bool
	err := tx.tx.QueryRow(ctx, `SELECT NOT EXISTS (SELECT FROM apiary WHERE planned_on IS NULL OR planned_on < $1)`, day).Scan(&all)
	return all, tx.wrap(err, "ask what is planned for %s", day)
}
