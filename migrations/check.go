package migrations

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/pressly/goose/v3"
)

// A database whose schema is not the one that this program was built for.
var (
	ErrSchemaOlder = errors.New("the database's schema is older than this program")
	ErrSchemaNewer = errors.New("the database's schema is newer than this program")
)

func older(current int64) error {
	return fmt.Errorf("%w: it is at %d and must be at %d; run the migrations", ErrSchemaOlder, current, Latest())
}

func newer(current int64) error {
	return fmt.Errorf("%w: it is at %d and this program knows %d; install the newer program", ErrSchemaNewer, current, Latest())
}

// Check returns ErrSchemaOlder when the database is not at the version that this
// program knows yet, and ErrSchemaNewer when it is past it by more than additions
// (served_since): those alone may come while daemons of the version before serve.
// It changes nothing and works for the serving role too.
func Check(ctx context.Context, pool *pgxpool.Pool) error {
	var begun bool
	err := pool.QueryRow(ctx, `SELECT to_regclass('public.goose_db_version') IS NOT NULL`).Scan(&begun)
	if err != nil {
		return fmt.Errorf("look for the schema version: %w", err)
	}
	if !begun {
		return older(0)
	}
	var current int64
	if err := pool.QueryRow(ctx, `SELECT coalesce(max(version_id), 0) FROM public.goose_db_version`).Scan(&current); err != nil {
		return fmt.Errorf("read the schema version: %w", err)
	}
	switch {
	case current < Latest():
		return older(current)
	case current > Latest():
		since, err := servedSince(ctx, pool)
		if err != nil {
			return err
		}
		if since > Latest() {
			return newer(current)
		}
	}
	return nil
}

// servedSince is the oldest version whose program may serve the database.
func servedSince(ctx context.Context, pool *pgxpool.Pool) (since int64, err error) {
	if err := pool.QueryRow(ctx, `SELECT public.served_since()`).Scan(&since); err != nil {
		return 0, fmt.Errorf("ask which programs may serve this schema: %w", err)
	}
	return since, nil
}

// Step is one migration of the history and whether a database has it.
type Step struct {
	Version int64
	Name    string
	Applied bool
}

// Status lists the history as the database at url stands in it.
func Status(ctx context.Context, url string) ([]Step, error) {
	db, err := openOwner(ctx, url)
	if err != nil {
		return nil, err
	}
	defer db.Close()
	p, err := provider(db)
	if err != nil {
		return nil, err
	}
	states, err := p.Status(ctx)
	if err != nil {
		return nil, fmt.Errorf("read the migrations' status: %w", err)
	}
	steps := make([]Step, len(states))
	for i, s := range states {
		name := s.Source.Path
		if name == "" {
			name = "job engine"
		}
		steps[i] = Step{Version: s.Source.Version, Name: name, Applied: s.State == goose.StateApplied}
	}
	return steps, nil
}
