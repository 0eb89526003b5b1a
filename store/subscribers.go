package store

import (
	"context"

	"github.com/jackc/pgx/v5"
)

// Subscribers are the members with a calendar address that holds and that some
// calendar has ever asked for.
func (tx *Tx) Subscribers(ctx context.Context) (map[int64]bool, error) {
	rows, err := tx.tx.Query(ctx, `
		SELECT DISTINCT member_id FROM calendar_link WHERE fetched_at IS NOT NULL AND revoked_at IS NULL AND replaced_at IS NULL`)
	if err != nil {
		return nil, tx.wrap(err, "list who has a calendar")
	}
	members := map[int64]bool{}
	var id int64
	_, err = pgx.ForEachRow(rows, []any{&id}, func() error {
		members[id] = true
		return nil
	})
	return members, tx.wrap(err, "list who has a calendar")
}
