package migrations_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/jackc/pgx/v5/pgxpool"

	"pryday/migrations"
	"pryday/store/storetest"
)

// TestClosingsBecomeKeys takes sentences over as keys and back again.
func TestClosingsBecomeKeys(t *testing.T) {
	ctx, url := context.Background(), storetest.New(t)
	pool := connect(t, url)
	if err := migrations.Down(ctx, url, 9); err != nil {
		t.Fatal(err)
	}
	rows := []struct{ moved, alone, movedKey, aloneKey, words string }{
		{"", "", "", "", ""},
		{"out of winter", "", "winter", "", ""},
		{"out of a closed season", "the hive is retired", "stage", "hive-retired", ""},
		{"out of the days before winter", "the box is retired", "reseal", "box-retired", ""},
		{"out of a standstill", "standstill", "standstill", "standstill", ""},
		{"out of the landowner's days", "standstill: by order: leave alone: all", "owner", "standstill", "by order: leave alone: all"},
		{"out of leave-alone days", "leave alone: queen cells", "hive", "hive", "queen cells"},
		{"out of days when every keeper is away", "leave alone", "keepers", "hive", ""},
		{"", "there is no day in the next year on which it may be opened", "", "none-openable", ""},
	}
	run := func(sql string, args ...any) {
		t.Helper()
		if _, err := pool.Exec(ctx, sql, args...); err != nil {
			t.Fatal(err)
		}
	}
	run(`INSERT INTO club (id, name) VALUES (1, 'A')`)
	for i, r := range rows {
		run(`INSERT INTO box (club_id, id, name, kind, set_up_on) VALUES (1, $1, $2, 'deep', '2027-05-01')`, i+1, fmt.Sprint("B", i+1))
		run(`INSERT INTO due (club_id, box_id, apiary_id, hive_id, last_hard, reason, moved, left_alone) VALUES (1, $1, 1, 1, 0, 'odds', $2, $3)`, i+1, r.moved, r.alone)
	}
	if err := migrations.Up(ctx, url); err != nil {
		t.Fatal(err)
	}
	for i, r := range rows {
		want := fmt.Sprintf("%s|%s|%s", r.movedKey, r.aloneKey, r.words)
		if got := column(t, pool, `moved || '|' || left_alone || '|' || left_alone_words`, i+1); got != want {
			t.Errorf("%q and %q became %q, want %q", r.moved, r.alone, got, want)
		}
	}
	if err := migrations.Down(ctx, url, 9); err != nil {
		t.Fatal(err)
	}
	for i, r := range rows {
		if got, want := column(t, pool, `moved || '|' || left_alone`, i+1), r.moved+"|"+r.alone; got != want {
			t.Errorf("taken back %q, want %q", got, want)
		}
	}
}

// column reads a term of a box's row of due.
func column(t *testing.T, pool *pgxpool.Pool, term string, box int) (got string) {
	t.Helper()
	if err := pool.QueryRow(context.Background(), `SELECT `+term+` FROM due WHERE box_id = $1`, box).Scan(&got); err != nil {
		t.Fatal(err)
	}
	return got
}
