package storetest_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/jackc/pgx/v5"

	"pryday/migrations"
	"pryday/store/storetest"
)

func connect(t testing.TB, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	return conn
}

func TestEveryTestHasADatabaseOfItsOwn(t *testing.T) {
	for i := range 8 {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			t.Parallel()
			conn := connect(t, storetest.New(t))
			if _, err := conn.Exec(t.Context(), "CREATE TABLE mine (n int)"); err != nil {
				t.Fatalf("another test's table is in this database: %v", err)
			}
		})
	}
}

func TestNewHasTheNewestSchema(t *testing.T) {
	conn := connect(t, storetest.New(t))
	var version int64
	if err := conn.QueryRow(t.Context(), "SELECT max(version_id) FROM goose_db_version").Scan(&version); err != nil {
		t.Fatal(err)
	}
	if version != migrations.Latest() {
		t.Errorf("schema version %d, want %d", version, migrations.Latest())
	}
	var super bool
	if err := conn.QueryRow(t.Context(), "SELECT rolsuper FROM pg_roles WHERE rolname = current_user").Scan(&super); err != nil {
		t.Fatal(err)
	}
	if super {
		t.Error("tests run as a superuser, whom row-level security never binds")
	}
	if _, err := conn.Exec(t.Context(), "SET ROLE pryday_app"); err != nil {
		t.Errorf("the owner cannot take on the serving role: %v", err)
	}
}

func TestEmptyHasNoTables(t *testing.T) {
	conn := connect(t, storetest.Empty(t))
	var tables int
	if err := conn.QueryRow(t.Context(), "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'").Scan(&tables); err != nil {
		t.Fatal(err)
	}
	if tables != 0 {
		t.Errorf("%d tables in an empty database", tables)
	}
}

func BenchmarkNew(b *testing.B) {
	storetest.New(b)
	for b.Loop() {
		storetest.New(b)
	}
}
