package store

import (
	"context"
	"errors"
	"fmt"
	"strconv"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
)

// Tx is one transaction that sees one club.
type Tx struct {
	tx        *transaction
	club      int64
	jobs      *river.Client[pgx.Tx]
	reads     bool    // and changes nothing
	lags      bool    // reads from a replica
	feedWhole bool    // what any calendar shows may have changed
	feedAt    []int64 // apiaries whose entries in calendars have changed
}

// errAgain asks InClub to begin anew: what had to be locked grew meanwhile.
var errAgain = errors.New("the apiaries that share boxes have changed")

const attempts = 5

// InClub runs fn in one READ COMMITTED transaction that sees one club, and
// commits unless fn returns an error or panics. A deadlock, or a change of
// what must be locked, runs fn again: fn must not have effects elsewhere.
func (s *Store) InClub(ctx context.Context, club int64, fn func(*Tx) error) error {
	for i := 1; ; i++ {
		err := s.once(ctx, s.pool, club, "begin", func(tx *Tx) error {
			err := fn(tx)
			tx.raiseFeed()
			return err
		})
		if err == nil {
			noteWritten(ctx)
		}
		if i < attempts && (errors.Is(err, errAgain) || code(err) == deadlockDetected) {
			continue
		}
		return err
	}
}

// InSnapshot runs fn in one read-only transaction whose statements all see
// the same moment: of the primary's, or where the context allows it (MayLag) of
// a replica's. fn runs again when the replica fails it, in a deadlock, and once
// more when the connection is lost: it must not have effects elsewhere.
func (s *Store) InSnapshot(ctx context.Context, club int64, fn func(*Tx) error) error {
	read := func(pool *pgxpool.Pool, lags bool) error {
		return s.once(ctx, pool, club, "begin isolation level repeatable read read only", func(tx *Tx) error {
			tx.reads, tx.lags = true, lags
			return fn(tx)
		})
	}
	if r := s.lagging(ctx); r != nil {
		if err := read(r.pool, true); err == nil || ctx.Err() != nil {
			r.reads.Add(1)
			return err
		}
	}
	s.primaryReads.Add(1)
	for i := 1; ; i++ {
		err := read(s.pool, false)
		switch {
		case i < attempts && code(err) == deadlockDetected: // a migration locks tables in an order of its own
		case i == 1 && Away(err) && !errors.Is(err, ErrAway) && !errors.Is(err, context.DeadlineExceeded) && ctx.Err() == nil: // the server may have another name, or be back
		default:
			return err
		}
	}
}

func (s *Store) once(ctx context.Context, pool *pgxpool.Pool, club int64, begin string, fn func(*Tx) error) error {
	conn, err := pool.Acquire(ctx)
	if err != nil {
		return fmt.Errorf("take a connection for club %d: %w", club, err)
	}
	defer conn.Release()
	tx := &Tx{tx: &transaction{conn: conn, begin: begin}, club: club, jobs: s.jobs}
	tx.later("see the club alone", `SELECT set_config('pryday.club', $1, true)`, strconv.FormatInt(club, 10))
	defer tx.tx.rollback(ctx)
	if err := fn(tx); err != nil {
		return err
	}
	return tx.tx.commit(ctx)
}

// later puts a statement off that nobody waits for: it goes along with the
// next one, or with the end of the transaction.
func (tx *Tx) later(what, sql string, args ...any) {
	var b pgx.Batch
	b.Queue(sql, args...)
	tx.laterAll(&b, "%s", what)
}

// laterAll is later for a batch whose results nobody reads.
func (tx *Tx) laterAll(b *pgx.Batch, what string, args ...any) {
	tx.tx.later(b, func(err error) error { return tx.wrap(err, what, args...) })
}

// Last says that the next reading is the last one of a snapshot: its end goes
// along with it.
func (tx *Tx) Last() { tx.tx.last = tx.reads }

// Lags reports whether tx may see an earlier moment than the present.
func (tx *Tx) Lags() bool { return tx.lags }

// ClubID is the club that tx sees.
func (tx *Tx) ClubID() int64 { return tx.club }

// feedChanged notes that what a calendar shows has changed, whichever entry.
func (tx *Tx) feedChanged() { tx.feedWhole = true }

// feedChangedAt is feedChanged where only entries of certain apiaries have;
// with none it is the same.
func (tx *Tx) feedChangedAt(apiaries []int64) {
	tx.feedAt, tx.feedWhole = append(tx.feedAt, apiaries...), tx.feedWhole || len(apiaries) == 0
}

// raiseFeed comes last in a transaction: the row it locks is the club's, and
// all of the club's other changes wait for it.
func (tx *Tx) raiseFeed() {
	at := tx.feedAt
	if tx.feedWhole {
		at = nil
	}
	if tx.feedWhole || len(at) > 0 {
		tx.later("raise the feed version", `
			WITH raised AS (
				UPDATE club SET feed_version = feed_version + 1, feed_whole = CASE WHEN $3::bigint[] IS NULL THEN feed_version + 1 ELSE feed_whole END
				 WHERE id = $1 RETURNING feed_version),
			     marked AS (UPDATE apiary a SET feed_version = raised.feed_version FROM raised WHERE a.id = ANY($3))
			SELECT pg_notify($2, $1::text || ' ' || feed_version) FROM raised`, tx.club, FeedChannel, at)
	}
	tx.feedWhole, tx.feedAt = false, nil
}

// FeedVersion is the number that rises whenever what a calendar shows changes.
func (tx *Tx) FeedVersion(ctx context.Context) (int64, error) {
	var v int64
	err := tx.tx.QueryRow(ctx, `SELECT feed_version FROM club`).Scan(&v)
	if err != nil {
		return 0, tx.wrap(err, "read the feed version")
	}
	return v, nil
}

// wrap says what was being done in which club; no row means ErrNotFound.
func (tx *Tx) wrap(err error, format string, args ...any) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, pgx.ErrNoRows) {
		err = ErrNotFound
	}
	return fmt.Errorf("%s of club %d: %w", fmt.Sprintf(format, args...), tx.club, err)
}

// one changes a single row, and returns ErrNotFound when there is none.
func (tx *Tx) one(ctx context.Context, what, sql string, args ...any) error {
	tag, err := tx.tx.Exec(ctx, sql, args...)
	if err == nil && tag.RowsAffected() == 0 {
		err = ErrNotFound
	}
	return tx.wrap(err, "%s", what)
}

// list reads rows into structs by the names of their columns.
func list[T any](ctx context.Context, tx *Tx, sql string, args ...any) ([]T, error) {
	rows, err := tx.tx.Query(ctx, sql, args...)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowToStructByName[T])
}
