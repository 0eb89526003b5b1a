package store

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
)

// transaction speaks to Postgres as seldom as it can, because each time costs
// a wait: its beginning goes along with its first statement, what was put off
// with the next one, and the last of that with its end.
type transaction struct {
	conn  *pgxpool.Conn
	begin string
	tx    pgx.Tx   // nil before the first statement
	off   []putOff // in order
	last  bool     // the end goes along with the next statement
	over  bool
}

// errOver is what a statement after the last one gets.
var errOver = errors.New("the transaction is over")

// putOff is a statement that nobody waits for, and what its error is told with.
type putOff struct {
	query *pgx.QueuedQuery
	fail  func(error) error
}

// later puts statements off until the next one or the end. Their rows are not
// read; an error comes out of whatever takes them along, as fail tells it.
func (t *transaction) later(b *pgx.Batch, fail func(error) error) {
	for _, q := range b.QueuedQueries {
		t.off = append(t.off, putOff{q, fail})
	}
}

// waits reports whether a statement must take others along.
func (t *transaction) waits() bool { return t.tx == nil || len(t.off) > 0 || t.last || t.over }

// SendBatch sends statements after those put off, and reads up to their
// results.
func (t *transaction) SendBatch(ctx context.Context, b *pgx.Batch) pgx.BatchResults {
	if !t.waits() {
		return t.tx.SendBatch(ctx, b)
	}
	if t.over {
		return pgx.FailedBatchResults(b, errOver)
	}
	all := &pgx.Batch{}
	if t.tx == nil {
		all.BeginTx(pgx.TxOptions{BeginQuery: t.begin})
	}
	first, off := all.Len(), t.off
	t.off = nil
	for _, o := range off {
		all.QueuedQueries = append(all.QueuedQueries, o.query)
	}
	all.QueuedQueries = append(all.QueuedQueries, b.QueuedQueries...)
	if t.last {
		all.Queue("commit")
		t.over = true
	}
	results := t.conn.SendBatch(ctx, all)
	if t.tx == nil {
		t.tx = results.Tx()
	}
	for i := range first + len(off) {
		_, err := results.Exec()
		if err == nil {
			continue
		}
		results.Close()
		if i >= first {
			err = off[i-first].fail(err)
		}
		return pgx.FailedBatchResults(b, err)
	}
	return results
}

// Query sends one statement after those put off.
func (t *transaction) Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error) {
	if !t.waits() {
		return t.tx.Query(ctx, sql, args...)
	}
	var b pgx.Batch
	b.Queue(sql, args...)
	results := t.SendBatch(ctx, &b)
	rows, err := results.Query()
	if err != nil {
		results.Close()
	}
	return &lastRows{rows, results}, err
}

// lastRows are those of the last statement of a batch, which ends with them.
type lastRows struct {
	pgx.Rows
	batch pgx.BatchResults
}

func (r *lastRows) Next() bool {
	if r.Rows.Next() {
		return true
	}
	r.Close()
	return false
}

func (r *lastRows) Close() {
	r.Rows.Close()
	r.batch.Close()
}

// QueryRow is Query for one row.
func (t *transaction) QueryRow(ctx context.Context, sql string, args ...any) pgx.Row {
	if !t.waits() {
		return t.tx.QueryRow(ctx, sql, args...)
	}
	rows, err := t.Query(ctx, sql, args...)
	return firstRow{rows, err}
}

type firstRow struct {
	rows pgx.Rows
	err  error
}

// Scan reads the row; pgx.ErrNoRows when there is none.
func (r firstRow) Scan(into ...any) error {
	if r.err != nil {
		return r.err
	}
	defer r.rows.Close()
	found := r.rows.Next()
	if found {
		if err := r.rows.Scan(into...); err != nil {
			return err
		}
	}
	r.rows.Close()
	if err := r.rows.Err(); err != nil || found {
		return err
	}
	return pgx.ErrNoRows
}

// Exec sends one statement after those put off.
func (t *transaction) Exec(ctx context.Context, sql string, args ...any) (pgconn.CommandTag, error) {
	if !t.waits() {
		return t.tx.Exec(ctx, sql, args...)
	}
	var b pgx.Batch
	b.Queue(sql, args...)
	results := t.SendBatch(ctx, &b)
	tag, err := results.Exec()
	if closing := results.Close(); err == nil {
		err = closing
	}
	return tag, err
}

// begun is the transaction for those who want pgx's own, with nothing put off.
func (t *transaction) begun(ctx context.Context) (pgx.Tx, error) {
	if !t.waits() {
		return t.tx, nil
	}
	return t.tx, t.SendBatch(ctx, &pgx.Batch{}).Close()
}

// Begin is for a part that may fail alone.
func (t *transaction) Begin(ctx context.Context) (pgx.Tx, error) {
	tx, err := t.begun(ctx)
	if err != nil {
		return nil, err
	}
	return tx.Begin(ctx)
}

// commit ends the transaction, after what was put off.
func (t *transaction) commit(ctx context.Context) error {
	if t.over {
		return nil
	}
	tag, err := t.Exec(ctx, "commit")
	if err == nil && tag.String() == "ROLLBACK" { // a statement had failed
		err = pgx.ErrTxCommitRollback
	}
	t.over = err == nil
	return err
}

// rollback ends a transaction that was not committed.
func (t *transaction) rollback(ctx context.Context) {
	if t.tx != nil && t.conn.Conn().PgConn().TxStatus() != 'I' {
		t.tx.Rollback(ctx) // what stays open for all that closes with its connection
	}
	t.over = true
}
