package backup

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/migrations"
)

// Source says what a backup is made of, and for its manifest by whom.
type Source struct {
	URL     string // of the owner of the tables
	Program string // its version, in words
	Host    string
	// Sessions takes along who is signed in: for a database that only changes its
	// server, whose sessions nobody can have ended since.
	Sessions bool
}

// Write writes a backup of the database as it is at one instant, while others go
// on using it. An empty passphrase leaves it readable. migrations.ErrNotOwner for a
// login that does not see all of it.
func Write(ctx context.Context, w io.Writer, from Source, now time.Time, passphrase string) (*Manifest, error) {
	if err := migrations.CheckOwner(ctx, from.URL); err != nil {
		return nil, err
	}
	conn, err := connect(ctx, from.URL)
	if err != nil {
		return nil, err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	tx, err := conn.BeginTx(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly})
	if err != nil {
		return nil, fmt.Errorf("begin the backup: %w", err)
	}
	defer tx.Rollback(context.WithoutCancel(ctx)) // nothing was changed
	m, err := head(ctx, tx, from, now)
	if err != nil {
		return nil, err
	}
	tables, err := tablesOf(ctx, tx, from.Sessions)
	if err != nil {
		return nil, err
	}
	a, err := newArchiveWriter(w, m.MadeAt, passphrase)
	if err != nil {
		return nil, fmt.Errorf("begin the backup: %w", err)
	}
	if err := a.json("head.json", m); err != nil {
		return nil, fmt.Errorf("begin the backup: %w", err)
	}
	for _, t := range tables {
		p := &pieces{to: a, name: t.name, tally: newTally()}
		tag, err := conn.PgConn().CopyTo(ctx, p, t.read())
		if err == nil {
			err = p.flush()
		}
		if err != nil {
			return nil, fmt.Errorf("back up the table %s: %w", t.name, err)
		}
		m.Tables = append(m.Tables, Table{Name: t.name, Columns: t.columns, Rows: tag.RowsAffected(), Bytes: p.bytes, SHA256: p.sum()})
	}
	// Numbers are drawn without regard to transactions: these are no lower than
	// any in the rows above.
	if m.Sequences, err = sequences(ctx, tx); err != nil {
		return nil, err
	}
	if err := a.json("manifest.json", m); err != nil {
		return nil, fmt.Errorf("end the backup: %w", err)
	}
	if err := a.Close(); err != nil {
		return nil, fmt.Errorf("end the backup: %w", err)
	}
	return m, nil
}

// head is what a manifest says before the tables were read.
func head(ctx context.Context, tx pgx.Tx, from Source, now time.Time) (*Manifest, error) {
	m := &Manifest{Format: Format, Program: from.Program, Host: from.Host, MadeAt: now.UTC().Truncate(time.Second)}
	var begun, secrets bool
	err := tx.QueryRow(ctx, `SELECT to_regclass('public.goose_db_version') IS NOT NULL, to_regclass('public.secret') IS NOT NULL,
		current_setting('server_version')`).Scan(&begun, &secrets, &m.Postgres)
	if err == nil && !begun {
		return nil, fmt.Errorf("the database holds no records of this program")
	}
	if err == nil {
		err = tx.QueryRow(ctx, `SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied`).Scan(&m.Schema)
	}
	if err == nil {
		var rows pgx.Rows
		if rows, err = tx.Query(ctx, `SELECT name FROM club ORDER BY id`); err == nil {
			m.Clubs, err = pgx.CollectRows(rows, pgx.RowTo[string])
		}
	}
	if err == nil && secrets {
		m.Installation, err = installation(ctx, tx)
	}
	if err != nil {
		return nil, fmt.Errorf("look at what shall be backed up: %w", err)
	}
	return m, nil
}

// installation names the installation by its first signing key, which moves
// along with it and cannot be worked out from this.
func installation(ctx context.Context, tx pgx.Tx) (string, error) {
	rows, err := tx.Query(ctx, `SELECT value FROM secret ORDER BY created_at, name LIMIT 1`)
	if err != nil {
		return "", err
	}
	keys, err := pgx.CollectRows(rows, pgx.RowTo[[]byte])
	if err != nil || len(keys) == 0 {
		return "", err
	}
	sum := sha256.Sum256(append([]byte("pryday installation "), keys[0]...))
	return hex.EncodeToString(sum[:8]), nil
}

func sequences(ctx context.Context, tx pgx.Tx) ([]Sequence, error) {
	rows, err := tx.Query(ctx, `SELECT sequencename, last_value FROM pg_sequences
		WHERE schemaname = 'public' AND last_value IS NOT NULL AND sequencename NOT LIKE 'goose%' ORDER BY sequencename::text COLLATE "C"`)
	if err == nil {
		var out []Sequence
		if out, err = pgx.CollectRows(rows, pgx.RowToStructByPos[Sequence]); err == nil {
			return out, nil
		}
	}
	return nil, fmt.Errorf("read how far numbers have come: %w", err)
}
