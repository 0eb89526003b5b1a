package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"time"

	"golang.org/x/sync/errgroup"

	"pryday/scheduler"
)

// workers is how many clubs one daemon plans at once.
const workers = 4

const (
	planFirst  = "planning, the first time"
	planNext   = "planning, the day after"
	planMemory = "memory of planning"
)

// planning plans all clubs for yesterday and then for today, against reading
// the same rows by binary COPY and writing the results by binary COPY into
// tables with the same indexes. It plans even when no row of it is asked for:
// the others need the plan, which an association that was kept has.
func planning(ctx context.Context, b *bed, t *table) error {
	if b.kept {
		return nil
	}
	if err := forgetPeak(); err != nil {
		return err
	}
	plan := func(on scheduler.Date) (time.Duration, error) {
		began := time.Now()
		var working errgroup.Group
		working.SetLimit(workers)
		for i := range b.clubs {
			working.Go(func() error { return b.replan(ctx, b.clubs[i].id, b.clubs[i].apiaries, on) })
		}
		err := working.Wait()
		return time.Since(began), err
	}
	first, err := plan(today - 1)
	if err != nil {
		return err
	}
	if err := b.tidy(ctx); err != nil { // as autovacuum has by the next night
		return err
	}
	next, err := plan(today)
	if err != nil || !t.wants(planFirst, planNext, planMemory) {
		return err
	}
	most, err := peak()
	if err != nil {
		return err
	}
	copying, keyed, err := b.copyAll(ctx)
	if err != nil {
		return err
	}
	t.add(row{
		what: planFirst, against: "COPY out of the same rows and COPY in of the results", got: first.Seconds() / copying.Seconds(), unit: "x", limit: 2.5,
		note: fmt.Sprintf("%s; where the tables that COPY writes have the same foreign keys %.2f x", secondsOf(first), first.Seconds()/keyed.Seconds()),
	})
	t.add(row{what: planNext, against: "the same", got: next.Seconds() / copying.Seconds(), unit: "x", limit: 1.3, note: secondsOf(next)})
	t.add(row{what: planMemory, against: "all of this program", got: most, unit: "MB", limit: 512})
	return nil
}

func secondsOf(d time.Duration) string { return d.Round(100 * time.Millisecond).String() }

// copied are the rows that planning reads, and those that it writes.
var copied = struct{ out, in []string }{
	out: []string{"apiary", "hive", "box", "opening", "visit", "visit_box", "due"},
	in:  []string{"visit", "visit_box", "visit_member", "due"},
}

// copyAll times only the copying that stands for planning's: as it is, and where the
// tables that it writes have the foreign keys of the true ones.
func (b *bed) copyAll(ctx context.Context) (spent, keyed time.Duration, err error) {
	copyOut := func(table string, w io.Writer) (time.Duration, error) {
		began := time.Now()
		_, err := b.owner.PgConn().CopyTo(ctx, w, `COPY `+table+` TO STDOUT (FORMAT binary)`)
		return time.Since(began), err
	}
	for _, table := range copied.out {
		took, err := copyOut(table, io.Discard)
		if err != nil {
			return 0, 0, err
		}
		spent, keyed = spent+took, keyed+took
	}
	for _, table := range copied.in {
		plain, checked, err := b.copyIntoTwins(ctx, table, copyOut)
		if err != nil {
			return 0, 0, err
		}
		spent, keyed = spent+plain, keyed+checked
	}
	return spent, keyed, nil
}

func (b *bed) copyIntoTwins(ctx context.Context, table string, copyOut func(string, io.Writer) (time.Duration, error)) (plain, keyed time.Duration, err error) {
	rows, err := os.CreateTemp("", "pryday-load-")
	if err != nil {
		return 0, 0, err
	}
	defer os.Remove(rows.Name())
	defer rows.Close()
	if _, err := copyOut(table, rows); err != nil {
		return 0, 0, err
	}
	var keys string
	if err := b.owner.QueryRow(ctx, `
		SELECT string_agg('ADD ' || pg_get_constraintdef(oid), ', ') FROM pg_constraint WHERE conrelid = $1::regclass AND contype = 'f'`, table).Scan(&keys); err != nil {
		return 0, 0, err
	}
	if plain, err = b.copyIntoTwin(ctx, table, "", rows); err == nil {
		keyed, err = b.copyIntoTwin(ctx, table, keys, rows)
	}
	return plain, keyed, err
}

// copyIntoTwin times copying rows into a table like another, with some constraints more.
func (b *bed) copyIntoTwin(ctx context.Context, table, more string, rows *os.File) (time.Duration, error) {
	if _, err := rows.Seek(0, io.SeekStart); err != nil {
		return 0, err
	}
	_, err := b.owner.Exec(ctx, `CREATE TABLE twin (LIKE `+table+` INCLUDING ALL)`)
	if err == nil && more != "" {
		_, err = b.owner.Exec(ctx, `ALTER TABLE twin `+more)
	}
	if err != nil {
		return 0, err
	}
	began := time.Now()
	if _, err := b.owner.PgConn().CopyFrom(ctx, rows, `COPY twin FROM STDIN (FORMAT binary)`); err != nil {
		return 0, err
	}
	took := time.Since(began)
	_, err = b.owner.Exec(ctx, `DROP TABLE twin`)
	return took, err
}
