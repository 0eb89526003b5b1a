package migrations

import (
	"context"
	"database/sql"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/pressly/goose/v3"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"
)

// Places of the job engine's migrations in our history. They are two, because
// its version 6 uses a value that its version 4 adds to an enum type, which
// Postgres refuses within one transaction.
const (
	river1to5 = 8
	river6to8 = 9
)

// RiverVersion is the version of the job engine's schema that the history
// ends with. A newer engine that wants more needs a new migration here.
const RiverVersion = 8

func riverMigrations() ([]*goose.Migration, error) {
	m, err := rivermigrate.New(riverpgxv5.New(nil), nil)
	if err != nil {
		return nil, fmt.Errorf("read the job engine's migrations: %w", err)
	}
	steps := func(from, to int) *goose.GoFunc {
		return &goose.GoFunc{RunTx: func(ctx context.Context, tx *sql.Tx) error {
			for v := from; v <= to; v++ {
				if err := riverUp(ctx, tx, m, v); err != nil {
					return err
				}
			}
			return nil
		}}
	}
	back := func(from, to int) *goose.GoFunc {
		return &goose.GoFunc{RunTx: func(ctx context.Context, tx *sql.Tx) error {
			for v := from; v >= to; v-- {
				if err := riverDown(ctx, tx, m, v); err != nil {
					return err
				}
			}
			return nil
		}}
	}
	return []*goose.Migration{
		goose.NewGoMigration(river1to5, steps(1, 5), back(5, 1)),
		goose.NewGoMigration(river6to8, steps(6, RiverVersion), back(RiverVersion, 6)),
	}, nil
}

// riverUp runs one of the engine's migrations and notes it in the engine's own
// table, so that its tools agree with our history.
func riverUp(ctx context.Context, tx *sql.Tx, m *rivermigrate.Migrator[pgx.Tx], version int) error {
	step, err := m.GetVersion(version)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, inPublic(step.SQLUp)); err != nil {
		return fmt.Errorf("job engine migration %d: %w", version, err)
	}
	note := `INSERT INTO river_migration (line, version) VALUES ('main', $1)`
	if version < 5 { // the line came with version 5
		note = `INSERT INTO river_migration (version) VALUES ($1)`
	}
	if _, err := tx.ExecContext(ctx, note, version); err != nil {
		return fmt.Errorf("note job engine migration %d: %w", version, err)
	}
	return nil
}

func riverDown(ctx context.Context, tx *sql.Tx, m *rivermigrate.Migrator[pgx.Tx], version int) error {
	step, err := m.GetVersion(version)
	if err != nil {
		return err
	}
	if version > 1 {
		if _, err := tx.ExecContext(ctx, `DELETE FROM river_migration WHERE version = $1`, version); err != nil {
			return fmt.Errorf("forget job engine migration %d: %w", version, err)
		}
	}
	if _, err := tx.ExecContext(ctx, inPublic(step.SQLDown)); err != nil {
		return fmt.Errorf("take back job engine migration %d: %w", version, err)
	}
	return nil
}

// inPublic fills the place that the engine's SQL leaves for a schema's name.
func inPublic(sql string) string { return strings.ReplaceAll(sql, "/* TEMPLATE: schema */", "") }
