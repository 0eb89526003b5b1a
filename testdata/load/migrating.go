package main

import (
	"context"
	"fmt"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/migrations"
)

const migrationWait = "longest wait while the newest migrations run"

// newest is how many migrations are taken back and made again. Those before
// were measured when they were the newest; 37, which hashes the whole trail,
// keeps it locked for as long as that takes.
const newest = 3

// watched are the tables in which people's requests wait when a migration locks them.
var watched = []string{"club", "apiary", "hive", "box", "opening", "visit", "visit_box", "due", "message", "told", "audit", "forecast", "member", "calendar_link"}

// migrating takes the newest migrations back and makes them again, one by one,
// over all of this, while a reader and a writer of every table want their lock
// again and again. It comes last: the service does not fit meanwhile.
func migrating(ctx context.Context, b *bed, t *table) error {
	if !t.wants(migrationWait) {
		return nil
	}
	last := migrations.Latest()
	if err := migrations.Down(ctx, b.postgres.URL(), last-newest); err != nil {
		return err
	}
	var worst time.Duration
	var note string
	for v := last - newest + 1; v <= last; v++ {
		stop := b.wantLocks(ctx)
		began := time.Now()
		err := migrations.UpTo(ctx, b.postgres.URL(), v)
		took := time.Since(began)
		waited, where, wrong := stop()
		if err != nil {
			return err
		}
		if wrong != nil {
			return wrong
		}
		fmt.Printf("migration %d: %s, somebody waited %s for %s\n", v, millis(took), millis(waited), where)
		if waited >= worst {
			worst, note = waited, fmt.Sprintf("migration %d, which takes %s; for %s", v, millis(took), where)
		}
	}
	t.add(row{what: migrationWait, against: fmt.Sprintf("a reader and a writer of %d tables; %d migrations", len(watched), newest), got: float64(worst.Microseconds()) / 1000, unit: "ms", limit: 1000, note: note})
	return nil
}

// wantLocks has a reader and a writer of each watched table ask for it, until
// stop, which tells the longest that one of them waited.
func (b *bed) wantLocks(ctx context.Context) (stop func() (time.Duration, string, error)) {
	var mu sync.Mutex
	var longest time.Duration
	var where string
	var wrong error
	done := make(chan struct{})
	var asking sync.WaitGroup
	for _, mode := range []string{"ACCESS SHARE", "ROW EXCLUSIVE"} {
		asking.Go(func() {
			err := b.askInTurn(ctx, done, mode, func(table string, took time.Duration) {
				mu.Lock()
				defer mu.Unlock()
				if took > longest {
					longest, where = took, mode+" of "+table
				}
			})
			if err != nil {
				mu.Lock()
				defer mu.Unlock()
				wrong = err
			}
		})
	}
	return func() (time.Duration, string, error) { close(done); asking.Wait(); return longest, where, wrong }
}

func (b *bed) askInTurn(ctx context.Context, done <-chan struct{}, mode string, waited func(table string, took time.Duration)) error {
	conn, err := pgx.Connect(ctx, b.postgres.URL())
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	for {
		for _, table := range watched {
			select {
			case <-done:
				return nil
			default:
			}
			began := time.Now()
			if _, err := conn.Exec(ctx, `BEGIN; LOCK TABLE `+table+` IN `+mode+` MODE; COMMIT`); err != nil {
				return fmt.Errorf("want %s of %s: %w", mode, table, err)
			}
			waited(table, time.Since(began))
		}
	}
}
