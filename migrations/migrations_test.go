package migrations_test

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"

	"pryday/migrations"
	"pryday/store/storetest"
)

func connect(t *testing.T, url string) *pgxpool.Pool {
	t.Helper()
	pool, err := pgxpool.New(context.Background(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(pool.Close)
	return pool
}

func TestUpDownUp(t *testing.T) {
	ctx, url := context.Background(), storetest.Empty(t)
	pool := connect(t, url)
	if err := migrations.Check(ctx, pool); !errors.Is(err, migrations.ErrSchemaOlder) {
		t.Errorf("an empty database: %v", err)
	}
	for range 2 { // the second finds nothing to do
		if err := migrations.Up(ctx, url); err != nil {
			t.Fatal(err)
		}
	}
	if err := migrations.Check(ctx, pool); err != nil {
		t.Errorf("after Up: %v", err)
	}
	if err := migrations.Down(ctx, url, 0); err != nil {
		t.Fatal(err)
	}
	var left []string
	rows, err := pool.Query(ctx, `SELECT relname::text FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'v', 'S')
		UNION SELECT proname::text FROM pg_proc WHERE pronamespace = 'public'::regnamespace
		UNION SELECT 'default privileges' FROM pg_default_acl ORDER BY 1`)
	if err == nil {
		left, err = pgx.CollectRows(rows, pgx.RowTo[string])
	}
	if want := []string{"goose_db_version", "goose_db_version_id_seq"}; err != nil || !slices.Equal(left, want) {
		t.Errorf("after Down %v, want %v: %v", left, want, err)
	}
	if err := migrations.Up(ctx, url); err != nil {
		t.Fatal(err)
	}
	steps, err := migrations.Status(ctx, url)
	if err != nil || len(steps) != int(migrations.Latest()) {
		t.Fatalf("%d steps: %v", len(steps), err)
	}
	for i, s := range steps {
		if s.Version != int64(i+1) || !s.Applied {
			t.Errorf("step %d is %+v", i+1, s)
		}
	}
}

func TestConcurrentUp(t *testing.T) {
	ctx, url := context.Background(), storetest.Empty(t)
	var wg sync.WaitGroup
	errs := make([]error, 4)
	for i := range errs {
		wg.Go(func() { errs[i] = migrations.Up(ctx, url) })
	}
	wg.Wait()
	if err := errors.Join(errs...); err != nil {
		t.Error(err)
	}
	if err := migrations.Check(ctx, connect(t, url)); err != nil {
		t.Error(err)
	}
}

func TestUpRefusesANewerSchema(t *testing.T) {
	ctx, url := context.Background(), storetest.New(t)
	pool := connect(t, url)
	if _, err := pool.Exec(ctx, `INSERT INTO goose_db_version (version_id, is_applied) VALUES ($1, true)`, migrations.Latest()+1); err != nil {
		t.Fatal(err)
	}
	if err := migrations.Up(ctx, url); !errors.Is(err, migrations.ErrSchemaNewer) {
		t.Error(err)
	}
}

// The job engine must find its tables as its own version expects them.
func TestJobEngineSchema(t *testing.T) {
	ctx := context.Background()
	m, err := rivermigrate.New(riverpgxv5.New(connect(t, storetest.New(t))), nil)
	if err != nil {
		t.Fatal(err)
	}
	result, err := m.Validate(ctx, nil)
	if err != nil || !result.OK {
		t.Errorf("the engine is not content: %+v %v", result, err)
	}
	all := m.AllVersions()
	if newest := all[len(all)-1].Version; newest != migrations.RiverVersion {
		t.Errorf("the engine knows version %d and the history ends with %d: add a migration", newest, migrations.RiverVersion)
	}
}

// Numbers without holes, each used once, keep two branches from adding the
// same one unnoticed.
func TestNumbersInOrder(t *testing.T) {
	names, err := fs.Glob(os.DirFS("."), "*.sql")
	if err != nil {
		t.Fatal(err)
	}
	numbered := regexp.MustCompile(`^(\d{5})_[a-z_]+\.sql$`)
	taken := map[string]string{"00008": "job engine", "00009": "job engine"}
	for _, name := range names {
		if name == "schema.sql" {
			continue
		}
		m := numbered.FindStringSubmatch(name)
		if m == nil {
			t.Errorf("%s is not named as migrations are", name)
			continue
		}
		if other, ok := taken[m[1]]; ok {
			t.Errorf("%s and %s have the same number", name, other)
		}
		taken[m[1]] = name
	}
	for i := 1; i <= len(taken); i++ {
		if _, ok := taken[fmt.Sprintf("%05d", i)]; !ok {
			t.Errorf("there is no migration %d", i)
		}
	}
	if !strings.HasPrefix(taken["00001"], "00001_") {
		t.Error("the first migration is missing")
	}
}
