// Package migrations holds the schema of the records and of the job engine as
// one numbered history, and brings a database to it.
//
// Numbered SQL files are embedded; the job engine's own migrations run as Go
// migrations at fixed places in the same history, so that one number tells
// what a database looks like.
package migrations

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
)

//go:embed 0*.sql
var files embed.FS

// Up brings the database at url to the newest schema. It makes the serving
// role if the cluster has none, waits for another process that is migrating
// the same database, and does nothing when there is nothing to do. The user
// in url becomes the owner of the tables; another one than before is ErrNotOwner.
func Up(ctx context.Context, url string) error {
	return UpTo(ctx, url, Latest())
}

// UpTo is Up, stopping at a version of the history.
func UpTo(ctx context.Context, url string, version int64) error {
	db, err := openOwner(ctx, url)
	if err != nil {
		return err
	}
	defer db.Close()
	if err := checkOwner(ctx, db); err != nil {
		return err
	}
	if err := EnsureRole(ctx, db); err != nil {
		return err
	}
	if err := closeDatabase(ctx, db); err != nil {
		return err
	}
	p, err := provider(db)
	if err != nil {
		return err
	}
	current, _, err := p.GetVersions(ctx)
	if err != nil {
		return fmt.Errorf("read the schema version: %w", err)
	}
	if current > Latest() {
		return newer(current)
	}
	if _, err := p.UpTo(ctx, version); err != nil {
		return fmt.Errorf("migrate the database: %w", err)
	}
	return nil
}

// Down takes the database at url back to a version of the history; 0 empties
// it. It is for tests and for a release that must be taken back.
func Down(ctx context.Context, url string, version int64) error {
	db, err := openOwner(ctx, url)
	if err != nil {
		return err
	}
	defer db.Close()
	p, err := provider(db)
	if err != nil {
		return err
	}
	if _, err := p.DownTo(ctx, version); err != nil {
		return fmt.Errorf("migrate the database down to %d: %w", version, err)
	}
	return nil
}

// Latest is the newest version that this program knows.
func Latest() int64 {
	latest := int64(river6to8)
	names, err := fs.Glob(files, "0*.sql")
	if err != nil {
		panic(err) // the pattern is a constant
	}
	for _, name := range names {
		v, err := goose.NumericComponent(name)
		if err != nil {
			panic(fmt.Sprintf("embedded migration %s: %v", name, err))
		}
		latest = max(latest, v)
	}
	return latest
}

func openOwner(ctx context.Context, url string) (*sql.DB, error) {
	cfg, err := pgx.ParseConfig(url)
	if err != nil {
		return nil, fmt.Errorf("read the database address: %w", err)
	}
	db := stdlib.OpenDB(*cfg)
	if err := db.PingContext(ctx); err != nil {
		db.Close()
		return nil, fmt.Errorf("reach the database: %w", err)
	}
	return db, nil
}

func provider(db *sql.DB) (*goose.Provider, error) {
	// Another daemon that migrates is done within moments: look every second,
	// for ten minutes.
	locker, err := lock.NewPostgresSessionLocker(lock.WithLockTimeout(1, 600))
	if err != nil {
		return nil, fmt.Errorf("prepare the migration lock: %w", err)
	}
	river, err := riverMigrations()
	if err != nil {
		return nil, err
	}
	p, err := goose.NewProvider(goose.DialectPostgres, db, files,
		goose.WithSessionLocker(locker),
		goose.WithDisableGlobalRegistry(true),
		goose.WithGoMigrations(river...))
	if err != nil {
		return nil, fmt.Errorf("read the migrations: %w", err)
	}
	return p, nil
}
