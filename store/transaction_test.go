package store

import (
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
)

func TestTransactionIsWholeOrNotAtAll(t *testing.T) {
	t.Parallel()
	s, ctx := open(t), context.Background()
	club, err := s.CreateClub(ctx, "Old Mill Beekeepers")
	if err != nil {
		t.Fatal(err)
	}
	name := func() (name string) {
		inClub(t, s, club, func(tx *Tx) error { return tx.tx.QueryRow(ctx, `SELECT name FROM club`).Scan(&name) })
		return name
	}
	rename := func(tx *Tx, to string) { tx.later("rename it", `UPDATE club SET name = $1`, to) }
	fails := func(tx *Tx) { tx.later("do the impossible", `SELECT 1 / $1::int`, 0) }
	sentinel := errors.New("something else")
	for _, row := range []struct {
		does string
		fn   func(*Tx) error
		err  string // what its error has in it; empty for none
		name string // afterwards
	}{
		{"nothing", func(*Tx) error { return nil }, "", "Old Mill Beekeepers"},
		{"put off to the end", func(tx *Tx) error { rename(tx, "one"); return nil }, "", "one"},
		{"put off until it is read", func(tx *Tx) error {
			rename(tx, "two")
			var got string
			err := tx.tx.QueryRow(ctx, `SELECT name FROM club`).Scan(&got)
			if got != "two" {
				t.Errorf("read %q", got)
			}
			return err
		}, "", "two"},
		{"put off, and then given up", func(tx *Tx) error { rename(tx, "three"); return sentinel }, "something else", "two"},
		{"given up after it was sent", func(tx *Tx) error {
			rename(tx, "four")
			if _, err := tx.tx.Exec(ctx, `SELECT`); err != nil {
				return err
			}
			return sentinel
		}, "something else", "two"},
		{"fails at the end", func(tx *Tx) error { rename(tx, "five"); fails(tx); return nil }, "do the impossible", "two"},
		{"fails in what comes next", func(tx *Tx) error {
			fails(tx)
			_, err := tx.ids(ctx, `SELECT id FROM club`)
			return err
		}, "do the impossible", "two"},
		{"fails in what comes next of one row", func(tx *Tx) error {
			fails(tx)
			var id int64
			return tx.tx.QueryRow(ctx, `SELECT id FROM club`).Scan(&id)
		}, "do the impossible", "two"},
		{"goes on after a failure", func(tx *Tx) error {
			rename(tx, "six")
			if _, err := tx.tx.Exec(ctx, `SELECT 1 / $1::int`, 0); err == nil {
				t.Error("divided by zero")
			}
			return nil
		}, pgx.ErrTxCommitRollback.Error(), "two"},
		{"finds no row", func(tx *Tx) error {
			rename(tx, "seven")
			var id int64
			if err := tx.tx.QueryRow(ctx, `SELECT id FROM hive`).Scan(&id); !errors.Is(err, pgx.ErrNoRows) {
				t.Errorf("got %v", err)
			}
			return nil
		}, "", "seven"},
	} {
		t.Run(row.does, func(t *testing.T) {
			err := s.InClub(ctx, club, row.fn)
			if row.err == "" && err != nil || row.err != "" && (err == nil || !strings.Contains(err.Error(), row.err)) {
				t.Errorf("got %v, want %q", err, row.err)
			}
			if got := name(); got != row.name {
				t.Errorf("the club's name is %q, want %q", got, row.name)
			}
		})
	}
	t.Run("panics", func(t *testing.T) {
		func() {
			defer func() {
				if recover() == nil {
					t.Error("the panic was swallowed")
				}
			}()
			s.InClub(ctx, club, func(tx *Tx) error { rename(tx, "eight"); _, _ = tx.ids(ctx, `SELECT id FROM club`); panic("now") })
		}()
		if got := name(); got != "seven" {
			t.Errorf("the club's name is %q", got)
		}
	})
	if n := s.pool.Stat().AcquiredConns(); n != 0 {
		t.Errorf("%d connections were not given back", n)
	}
}
