package backup

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/migrations"
	"pryday/scheduler"
	"pryday/store"
	"pryday/store/records"
	"pryday/store/storetest"
	"pryday/testdata"
)

func TestMain(m *testing.M) {
	if role := os.Getenv("PRYDAY_BACKUP_TEST"); role != "" {
		os.Exit(asVictim(role))
	}
	workFactor = 10
	storetest.Main(m)
}

var night = time.Date(2027, 5, 4, 3, 17, 0, 0, time.UTC)

// demoDatabase has the demo's club with a plan, and a row of what only a running
// service writes.
func demoDatabase(t testing.TB) string {
	t.Helper()
	return storetest.From(t, "backup_demo", func(url string) error {
		ctx := context.Background()
		s, err := store.Open(ctx, store.Config{URL: storetest.Serving(url), Apart: true, MaxConns: 4})
		if err != nil {
			return err
		}
		defer s.Close()
		club, err := records.Parse(testdata.Demo)
		if err != nil {
			return err
		}
		today, err := scheduler.ParseDate(testdata.DemoDay)
		if err != nil {
			return err
		}
		id, err := s.CreateClub(ctx, club.Name)
		if err != nil {
			return err
		}
		if _, err := s.Keys(ctx, "action"); err != nil {
			return err
		}
		return s.InClub(ctx, id, func(tx *store.Tx) error {
			if _, err := tx.Import(ctx, club); err != nil {
				return err
			}
			if _, _, err := tx.CreateLink(ctx, store.ClubLink, club.Members[0].ID, 0, store.LinkOptions{Label: "back\\slash\ttab\nline"}); err != nil {
				return err
			}
			_, err := tx.ReplanAll(ctx, today)
			return err
		})
	})
}

func run(t testing.TB, url, sql string, args ...any) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	if _, err := conn.Exec(t.Context(), sql, args...); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
}

// taken is a backup in memory.
func taken(t testing.TB, url, passphrase string) ([]byte, *Manifest) {
	t.Helper()
	var out bytes.Buffer
	m, err := Write(t.Context(), &out, Source{URL: url, Program: "pryday test", Host: "shed"}, night, passphrase)
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes(), m
}

// untouched fails the test unless a backup can still be restored into a database.
func untouched(t testing.TB, url string) {
	t.Helper()
	if err := Empty(t.Context(), url); err != nil {
		t.Errorf("something was left behind: %v", err)
	}
}

// same fails the test unless two databases have the same rows.
func same(t testing.TB, got, want *Manifest) {
	t.Helper()
	if len(got.Tables) != len(want.Tables) || len(got.Tables) < 30 {
		t.Errorf("%d tables, want %d and at least 30", len(got.Tables), len(want.Tables))
	}
	for _, w := range want.Tables {
		if g := got.table(w.Name); g == nil || g.SHA256 != w.SHA256 || g.Rows != w.Rows {
			t.Errorf("%s: got %+v, want %+v", w.Name, g, w)
		}
	}
	for i, s := range want.Sequences {
		if got.Sequences[i] != s {
			t.Errorf("sequence %+v, want %+v", got.Sequences[i], s)
		}
	}
	if got.Installation != want.Installation || want.Installation == "" {
		t.Errorf("installation %q, want %q", got.Installation, want.Installation)
	}
}

// restored restores a backup from memory.
func restored(t testing.TB, url string, file []byte, passphrase string) error {
	t.Helper()
	m, err := Restore(t.Context(), url, bytes.NewReader(file), passphrase)
	if (m == nil) != (err != nil) {
		t.Errorf("manifest %v and error %v", m, err)
	}
	return err
}

// atVersion9 is a database that a first release left behind.
func atVersion9(t testing.TB) string {
	t.Helper()
	url := storetest.Empty(t)
	if err := migrations.UpTo(t.Context(), url, 9); err != nil {
		t.Fatal(err)
	}
	rows, err := os.ReadFile(filepath.Join("..", "..", "migrations", "testdata", "at_00009.sql"))
	if err != nil {
		t.Fatal(err)
	}
	run(t, url, string(rows))
	return url
}
