package migrations

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5/pgconn"
)

// Role is the name of the role that serves: it owns nothing, so row-level
// security holds for it. What serves logs in as this role, or as one that is a
// member of it and of nothing else.
const Role = "pryday_app"

// EnsureRole makes the serving role, if the cluster has none, and lets the
// user of db take it on where that may be: who has one address for all serves
// with it. Roles belong to the whole cluster: another database's migration may be
// doing the same at this moment, which is no error.
func EnsureRole(ctx context.Context, db *sql.DB) error {
	if canSetRole(ctx, db) {
		return nil
	}
	var made bool
	if err := db.QueryRowContext(ctx, `SELECT EXISTS (SELECT FROM pg_roles WHERE rolname = $1)`, Role).Scan(&made); err != nil {
		return fmt.Errorf("look for the role %s: %w", Role, err)
	}
	if made {
		_, _ = db.ExecContext(ctx, `GRANT `+Role+` TO CURRENT_USER`) // refused to whoever did not make the role and serves with another login
		return nil
	}
	_, err := db.ExecContext(ctx, `CREATE ROLE `+Role+` NOLOGIN`)
	if err != nil && !madeByAnother(err) {
		return fmt.Errorf("make the role %s (an administrator can: CREATE ROLE %s NOLOGIN; GRANT %s TO the owner of this database): %w",
			Role, Role, Role, err)
	}
	if !canSetRole(ctx, db) {
		_, _ = db.ExecContext(ctx, `GRANT `+Role+` TO CURRENT_USER`) // as above
	}
	return nil
}

// closeDatabase takes away from everybody but the owner what a database is open
// for when it is made: tables and functions for a session. It stands in no
// migration, because it is the database's, which a copy of it does not take along.
func closeDatabase(ctx context.Context, db *sql.DB) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("close the database to all but its owner: %w", err)
	}
	defer tx.Rollback() // after a commit there is nothing to take back
	// Two who change one entry of the catalogue at once are refused.
	_, err = tx.ExecContext(ctx, `SELECT pg_advisory_xact_lock(hashtext('pryday closes the database'))`)
	var name string
	var temporary, create bool // the second in clusters of before version 15
	if err == nil {
		err = tx.QueryRowContext(ctx, `
			SELECT quote_ident(current_database()), has_database_privilege('public', current_database(), 'TEMPORARY'), has_schema_privilege('public', 'public', 'CREATE')`).
			Scan(&name, &temporary, &create)
	}
	if err == nil && temporary {
		_, err = tx.ExecContext(ctx, `REVOKE TEMPORARY ON DATABASE `+name+` FROM PUBLIC`) // a notice, where it is not its owner who migrates
	}
	if err == nil && create {
		_, err = tx.ExecContext(ctx, `REVOKE CREATE ON SCHEMA public FROM PUBLIC`)
	}
	if err == nil {
		err = tx.Commit()
	}
	if err != nil {
		return fmt.Errorf("close the database to all but its owner: %w", err)
	}
	return nil
}

// ErrNotOwner says that a login may not change the schema.
var ErrNotOwner = errors.New("this login does not own the records")

// CheckOwner returns ErrNotOwner to a login that may not change the schema of the
// database at url.
func CheckOwner(ctx context.Context, url string) error {
	db, err := openOwner(ctx, url)
	if err != nil {
		return err
	}
	defer db.Close()
	return checkOwner(ctx, db)
}

func checkOwner(ctx context.Context, db *sql.DB) error {
	var owns bool
	err := db.QueryRowContext(ctx, `
		SELECT has_schema_privilege('public', 'CREATE')
		   AND coalesce((SELECT pg_has_role(relowner, 'USAGE') FROM pg_class WHERE oid = to_regclass('public.goose_db_version')), true)`).Scan(&owns)
	if err == nil && !owns {
		err = ErrNotOwner
	}
	if err != nil {
		return fmt.Errorf("ask who owns the records: %w", err)
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
