package backup

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/migrations"
)

// Restore brings a backup into the empty database at url, whole or not at all,
// and migrates it to the schema of this program. All of the file is read and
// checked before anything is changed, and what was restored is read back and
// held against its checksums before it counts.
//
// Empty is a database without any table, or one of this program in which there
// is neither a club nor a person: a service that was only started leaves that.
// migrations.ErrNotOwner for a login that may not make it.
func Restore(ctx context.Context, url string, file io.ReadSeeker, passphrase string) (*Manifest, error) {
	m, err := Check(file, migrations.Latest(), passphrase)
	if err != nil {
		return nil, err
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	if err := migrations.CheckOwner(ctx, url); err != nil {
		return nil, err
	}
	if err := prepare(ctx, url, m.Schema); err != nil {
		return nil, err
	}
	a, err := newArchiveReader(file, passphrase)
	if err != nil {
		return nil, err
	}
	if err := a.json("head.json", new(Manifest)); err != nil {
		return nil, err
	}
	if err := load(ctx, url, a, m); err != nil {
		return nil, err
	}
	if err := migrations.Up(ctx, url); err != nil {
		return nil, fmt.Errorf("the backup is restored whole, but not migrated to this program's schema: %w", err)
	}
	return m, nil
}

// Empty returns nil when the database at url may take a backup in, and else
// ErrNotEmpty or ErrBusy.
func Empty(ctx context.Context, url string) error {
	_, err := target(ctx, url)
	return err
}

// prepare brings an empty database to the schema that the backup was made with.
func prepare(ctx context.Context, url string, schema int64) error {
	current, err := target(ctx, url)
	if err != nil {
		return err
	}
	if current > schema {
		if err := migrations.Down(ctx, url, 0); err != nil {
			return err
		}
	}
	return migrations.UpTo(ctx, url, schema)
}

// leaveTime is how long connections that were closed may take to be gone.
const leaveTime = 3 * time.Second

// othersAt counts the other connections to the database, once those that are about
// to end have.
func othersAt(ctx context.Context, conn *pgx.Conn) (n int, err error) {
	for began := time.Now(); ; {
		err := conn.QueryRow(ctx, `
			SELECT count(*) FROM pg_stat_activity
			 WHERE datname = current_database() AND pid <> pg_backend_pid() AND backend_type = 'client backend'`).Scan(&n)
		if err != nil || n == 0 || time.Since(began) > leaveTime {
			return n, err
		}
		select {
		case <-ctx.Done():
			return n, ctx.Err()
		case <-time.After(leaveTime / 30):
		}
	}
}

// target returns the schema of an empty database, 0 where there is none.
func target(ctx context.Context, url string) (schema int64, err error) {
	conn, err := connect(ctx, url)
	if err != nil {
		return 0, err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	others, err := othersAt(ctx, conn)
	if err != nil {
		return 0, fmt.Errorf("look who uses the database: %w", err)
	}
	var strange []string
	var begun bool
	err = conn.QueryRow(ctx, `
		SELECT ARRAY(SELECT relname::text FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p') ORDER BY 1),
		       to_regclass('public.goose_db_version') IS NOT NULL`).Scan(&strange, &begun)
	switch {
	case err != nil:
		return 0, fmt.Errorf("look at the database: %w", err)
	case others > 0:
		return 0, fmt.Errorf("%w (%d connections)", ErrBusy, others)
	case !begun && len(strange) > 0:
		return 0, fmt.Errorf("%w: it has the tables %s", ErrNotEmpty, strings.Join(strange[:min(len(strange), 5)], ", "))
	case !begun:
		return 0, nil
	}
	if err := conn.QueryRow(ctx, `SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied`).Scan(&schema); err != nil {
		return 0, fmt.Errorf("look at the database: %w", err)
	}
	return schema, nobody(ctx, conn)
}

// asker is a connection or a transaction on it.
type asker interface {
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
}

// nobody returns nil when a database of this program has no club and no person.
func nobody(ctx context.Context, conn asker) error {
	var begun bool
	if err := conn.QueryRow(ctx, `SELECT to_regclass('public.club') IS NOT NULL AND to_regclass('public.person') IS NOT NULL`).Scan(&begun); err != nil || !begun {
		return err
	}
	var clubs, people int64
	if err := conn.QueryRow(ctx, `SELECT (SELECT count(*) FROM club), (SELECT count(*) FROM person)`).Scan(&clubs, &people); err != nil {
		return fmt.Errorf("look at the database: %w", err)
	}
	if clubs+people > 0 {
		return fmt.Errorf("%w: it has %d clubs and %d people", ErrNotEmpty, clubs, people)
	}
	return nil
}

// load fills the tables in one transaction, and proves them before it ends.
func load(ctx context.Context, url string, a *archiveReader, m *Manifest) error {
	conn, err := connect(ctx, url)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	err = pgx.BeginFunc(ctx, conn, func(tx pgx.Tx) error {
		tables, err := tablesOf(ctx, tx, m.table(sessions) != nil)
		if err != nil {
			return err
		}
		if err := clear(ctx, tx, tables); err != nil {
			return err
		}
		if err := fill(ctx, conn, a, tables, m); err != nil {
			return err
		}
		if err := prove(ctx, conn, tables, m); err != nil {
			return err
		}
		return settle(ctx, tx, tables, m)
	})
	if err != nil {
		return fmt.Errorf("nothing was restored: %w", err)
	}
	_, err = conn.Exec(ctx, "ANALYZE") // or the first plans would be made for empty tables
	return err
}

// clear shuts everybody else out, looks once more, and takes away what a service
// without clubs wrote down.
func clear(ctx context.Context, tx pgx.Tx, tables []table) error {
	var names []string
	for _, t := range tables {
		names = append(names, "public."+quote(t.name))
	}
	if _, err := tx.Exec(ctx, "LOCK TABLE "+strings.Join(names, ", ")+" IN ACCESS EXCLUSIVE MODE"); err != nil {
		return err
	}
	if err := nobody(ctx, tx); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, "TRUNCATE "+strings.Join(names, ", ")); err != nil {
		return err
	}
	for _, name := range names { // they would write once more what the backup has of them
		if _, err := tx.Exec(ctx, "ALTER TABLE "+name+" DISABLE TRIGGER USER"); err != nil {
			return err
		}
	}
	return nil
}

func fill(ctx context.Context, conn *pgx.Conn, a *archiveReader, tables []table, m *Manifest) error {
	known := map[string]table{}
	for _, t := range tables {
		known[t.name] = t
	}
	for _, t := range m.Tables {
		if _, ok := known[t.Name]; !ok {
			return fmt.Errorf("%w: the schema at %d has no table %s", ErrMismatch, m.Schema, t.Name)
		}
	}
	for {
		name, err := a.table()
		if name == "" || err != nil {
			return err
		}
		has := m.table(name)
		if has == nil {
			return fmt.Errorf("%w: the manifest has no table %s", ErrTorn, name)
		}
		t := table{name: name, columns: has.Columns}
		if _, err := conn.PgConn().CopyFrom(ctx, &rows{of: a, name: name}, t.fill()); err != nil {
			return fmt.Errorf("restore the table %s: %w", name, err)
		}
	}
}

// prove reads the tables as a backup would, and compares.
func prove(ctx context.Context, conn *pgx.Conn, tables []table, m *Manifest) error {
	for _, t := range tables {
		sum := newTally()
		has := m.table(t.name)
		if has != nil {
			t.columns = has.Columns
		}
		tag, err := conn.PgConn().CopyTo(ctx, &sum, t.read())
		switch {
		case err != nil:
			return fmt.Errorf("read the table %s back: %w", t.name, err)
		case has == nil && tag.RowsAffected() == 0:
		case has == nil:
			return fmt.Errorf("%w: %d rows of %s are in no backup", ErrMismatch, tag.RowsAffected(), t.name)
		case tag.RowsAffected() != has.Rows || sum.sum() != has.SHA256:
			return fmt.Errorf("%w: %s has %d rows of %d, or other bytes", ErrMismatch, t.name, tag.RowsAffected(), has.Rows)
		}
	}
	return nil
}

// settle sets the numbers where they were, has the database check what it put
// off, and brings the triggers back.
func settle(ctx context.Context, tx pgx.Tx, tables []table, m *Manifest) error {
	var errs []error
	for _, s := range m.Sequences {
		_, err := tx.Exec(ctx, `SELECT setval(format('public.%I', $1::text)::regclass, $2, true)`, s.Name, s.Last)
		errs = append(errs, err)
	}
	if m.table(sessions) == nil && m.table("sign_in") != nil { // no session is there that holds by one
		_, err := tx.Exec(ctx, `UPDATE sign_in SET ended_at = now() WHERE ended_at IS NULL`)
		errs = append(errs, err)
	}
	_, err := tx.Exec(ctx, "SET CONSTRAINTS ALL IMMEDIATE")
	errs = append(errs, err)
	for _, t := range tables {
		_, err := tx.Exec(ctx, "ALTER TABLE public."+quote(t.name)+" ENABLE TRIGGER USER")
		errs = append(errs, err)
	}
	return errors.Join(errs...)
}
