package migrations

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5/pgconn"
)

// Role is the name of the role that serves: it owns nothing, so row-level
// security holds for it.
const Role = "pryday_app"

// EnsureRole makes the serving role, if the cluster has none, and lets the
// user of db take it on. Roles belong to the whole cluster: another database's
// migration may be doing the same at this moment, which is no error.
func EnsureRole(ctx context.Context, db *sql.DB) error {
	if canSetRole(ctx, db) {
		return nil
	}
	_, err := db.ExecContext(ctx, `CREATE ROLE `+Role+` NOLOGIN`)
	if err != nil && !madeByAnother(err) {
		return fmt.Errorf("make the role %s (an administrator can: CREATE ROLE %s NOLOGIN; GRANT %s TO the owner of this database): %w",
			Role, Role, Role, err)
	}
	if canSetRole(ctx, db) {
		return nil
	}
	_, err = db.ExecContext(ctx, `GRANT `+Role+` TO CURRENT_USER`)
	if err != nil && !canSetRole(ctx, db) {
		return fmt.Errorf("take on the role %s (an administrator can: GRANT %s TO the owner of this database): %w", Role, Role, err)
	}
	return nil
}

// canSetRole tries it, since what a membership permits differs between
// versions of Postgres.
func canSetRole(ctx context.Context, db *sql.DB) bool {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return false
	}
	defer tx.Rollback()
	_, err = tx.ExecContext(ctx, `SET LOCAL ROLE `+Role)
	return err == nil
}

func madeByAnother(err error) bool {
	var pg *pgconn.PgError
	if !errors.As(err, &pg) {
		return false
	}
	switch pg.Code {
	case "42710", "23505", "XX000": // duplicate object; the same found by the unique index; tuple concurrently updated
		return true
	}
	return false
}
