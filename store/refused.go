package store

import (
	"context"

	"github.com/jackc/pgx/v5"
)

// RefusedMembers lists the members whose address a mail server refused for
// good, with what it said.
func (tx *Tx) RefusedMembers(ctx context.Context) (map[int64]string, error) {
	rows, err := tx.tx.Query(ctx, `
		SELECT m.id, p.refused_reply FROM member m JOIN person p ON p.id = m.person_id WHERE p.refused_at IS NOT NULL`)
	if err != nil {
		return nil, tx.wrap(err, "list the refused addresses")
	}
	refused := map[int64]string{}
	var id int64
	var reply string
	_, err = pgx.ForEachRow(rows, []any{&id, &reply}, func() error {
		refused[id] = reply
		return nil
	})
	return refused, tx.wrap(err, "list the refused addresses")
}
