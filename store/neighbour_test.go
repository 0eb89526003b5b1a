package store_test

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"pryday/migrations"
	"pryday/store"
	"pryday/store/storetest"
)

// A daemon of the version before serves while a migration that only adds is
// applied, and after; from one that does more on it is not ready any more.
func TestServesThroughAnAddition(t *testing.T) {
	t.Parallel()
	ctx, url := t.Context(), storetest.New(t)
	s, err := store.Open(ctx, store.Config{URL: storetest.Serving(url), Apart: true, MaxConns: 4})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	club, err := s.CreateClub(ctx, "Hollow Lane Bees")
	if err != nil {
		t.Fatal(err)
	}
	owner, err := pgx.Connect(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	defer owner.Close(ctx)

	served := make(chan struct{}) // one for each round of the daemon's work
	ending, end := context.WithCancel(ctx)
	ended := make(chan int)
	go func() {
		rounds := 0
		defer func() { ended <- rounds }()
		for ; ending.Err() == nil; rounds++ {
			err := s.Ready(ctx)
			if err == nil {
				err = s.InClub(ctx, club, func(tx *store.Tx) error { return tx.RenameClub(ctx, fmt.Sprint("Club ", rounds)) })
			}
			if err == nil {
				err = s.InSnapshot(ctx, club, func(tx *store.Tx) error { _, err := tx.Club(ctx); return err })
			}
			if err != nil {
				t.Errorf("round %d: %v", rounds, err)
				end()
				return
			}
			select {
			case served <- struct{}{}:
			case <-ending.Done():
			}
		}
	}()
	round := func() {
		select {
		case <-served:
		case <-ending.Done():
		}
	}
	next := migrations.Latest()
	apply := func(sql string) {
		t.Helper()
		round()
		next++
		for tries := 1; ; tries++ {
			_, err := owner.Exec(ctx, `BEGIN; `+sql+`; INSERT INTO goose_db_version (version_id, is_applied) VALUES (`+strconv.FormatInt(next, 10)+`, true); COMMIT`)
			var refused *pgconn.PgError
			if errors.As(err, &refused) && refused.Code == "40P01" && tries < 5 { // deadlock_detected: it locks in an order of its own, and is run again
				_, err = owner.Exec(ctx, `ROLLBACK`)
				if err == nil {
					continue
				}
			}
			if err != nil {
				t.Error(err)
			}
			break
		}
		round()
		round()
	}
	apply(`ALTER TABLE club ADD COLUMN motto text; ALTER TABLE apiary ADD COLUMN motto text NOT NULL DEFAULT ''`)
	apply(`CREATE TABLE motto (club_id bigint NOT NULL REFERENCES club ON DELETE CASCADE, words text)`)
	end()
	if n := <-ended; n < 6 {
		t.Errorf("%d rounds were served", n)
	}
	if _, err := owner.Exec(ctx, `CREATE OR REPLACE FUNCTION served_since() RETURNS bigint LANGUAGE sql IMMUTABLE AS 'SELECT 9999::bigint'`); err != nil {
		t.Fatal(err)
	}
	if err := s.Ready(ctx); err == nil {
		t.Error("ready on a schema that is not for it")
	}
}

// A migration locks tables in another order than whoever reads: the reader begins
// anew, and is refused only when that never ends.
func TestSnapshotOutlivesADeadlock(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	s, err := store.Open(ctx, store.Config{URL: storetest.Serving(storetest.New(t)), Apart: true, MaxConns: 2})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	club, err := s.CreateClub(ctx, "Hollow Lane Bees")
	if err != nil {
		t.Fatal(err)
	}
	deadlock := fmt.Errorf("read the club: %w", &pgconn.PgError{Code: "40P01"})
	reads := 0
	err = s.InSnapshot(ctx, club, func(tx *store.Tx) error {
		if reads++; reads == 1 {
			return deadlock
		}
		_, err := tx.Club(ctx)
		return err
	})
	if err != nil || reads != 2 {
		t.Errorf("read %d times: %v", reads, err)
	}
	if err := s.InSnapshot(ctx, club, func(*store.Tx) error { return deadlock }); !errors.Is(err, deadlock) {
		t.Errorf("in a deadlock each time: %v", err)
	}
}
