// Package storetest gives every test a database of its own on a real Postgres.
//
// The first call in a test process starts a private server and migrates one
// database; every test then gets a clone of that, which takes hundredths of a
// second. The server ends with the process, however that ends. The TestMain of a
// package that uses it calls Main, which looks for goroutines left behind.
package storetest

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
	"go.uber.org/goleak"

	"pryday/migrations"
	"pryday/store/localpg"
	_ "pryday/testdata/testrun" // the same zones and lots in every run
)

const template = "storetest_template"

// New gives the address of a new database with the newest schema and no rows,
// for its owner. It is dropped, and what is still connected to it cut off, when
// the test ends. Tests in parallel may call it. A missing Postgres fails the test.
func New(t testing.TB) string {
	t.Helper()
	return create(t, template)
}

// From is New with what prepare leaves in a database with the newest schema. It
// is called for the first test that asks for the name, and the others get a
// clone. It must have closed its connections when it returns.
func From(t testing.TB, name string, prepare func(url string) error) string {
	t.Helper()
	made, _ := prepared.LoadOrStore(name, sync.OnceValue(func() error { return makeTemplate(template+"_"+name, template, prepare) }))
	if _, err := start(); err != nil {
		t.Fatalf("tests need a Postgres: %v", err)
	}
	if err := errors.Join(migrated(), made.(func() error)()); err != nil {
		t.Fatal(err)
	}
	return create(t, template+"_"+name)
}

// Empty is New without any schema, for tests of migrations.
func Empty(t testing.TB) string {
	t.Helper()
	return create(t, "template1")
}

// Main runs a package's tests and exits. They fail when a goroutine that they
// started is still there after them and is none of those to be passed over.
func Main(m goleak.TestingM, pass ...goleak.Option) {
	goleak.VerifyTestMain(withServer{m}, pass...)
}

// withServer is a package's tests and the end of their server.
type withServer struct{ tests goleak.TestingM }

func (w withServer) Run() int {
	code := w.tests.Run()
	if count.Load() == 0 {
		return code
	}
	s, err := start()
	if err != nil {
		return code // the tests have said so
	}
	s.admin.Close()
	// Nothing of it is needed any more: it need not write anything down.
	now, cancel := context.WithCancel(context.Background())
	cancel()
	s.pg.Stop(now)
	s.lifeline.Close()
	return code
}

var (
	start    = sync.OnceValues(startServer)
	migrated = sync.OnceValue(func() error {
		return makeTemplate(template, "template1", func(url string) error { return migrations.Up(context.Background(), url) })
	})
	prepared sync.Map // by name, the func() error that makes that template
	count    atomic.Int64
)

// server is the one server of this test process.
type server struct {
	pg       *localpg.Server
	admin    *pgxpool.Pool
	lifeline *os.File // the watchdog's input, open as long as this process lives
}

func create(t testing.TB, from string) string {
	t.Helper()
	s, err := start()
	if err != nil {
		t.Fatalf("tests need a Postgres: %v", err)
	}
	if from == template {
		if err := migrated(); err != nil {
			t.Fatal(err)
		}
	}
	name := fmt.Sprintf("test_%d", count.Add(1))
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	if _, err := s.admin.Exec(ctx, cloneOf(name, from)); err != nil {
		t.Fatalf("create a database for the test: %v", err)
	}
	set := "REVOKE TEMPORARY ON DATABASE " + name + " FROM PUBLIC" // which a clone does not take along
	if _, timed := t.(*testing.B); !timed {
		// A test has its connections for so short that planning is most of what they
		// do: one plan for all arguments is kept from the first time on, not the sixth.
		set += "; ALTER DATABASE " + name + " SET plan_cache_mode = force_generic_plan"
	}
	if _, err := s.admin.Exec(ctx, set); err != nil {
		t.Fatalf("set up a database for the test: %v", err)
	}
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
		defer cancel()
		if err := s.drop(ctx, name); err != nil {
			t.Errorf("drop the test's database: %v", err)
		}
	})
	return s.database(name)
}

// drop removes a database with whoever is still connected to it. A worker of
// autovacuum belongs to the superuser, whom the owner may not send away: it
// ends by itself.
func (s *server) drop(ctx context.Context, name string) error {
	for {
		_, err := s.admin.Exec(ctx, "DROP DATABASE "+name+" WITH (FORCE)")
		var pg *pgconn.PgError
		if !errors.As(err, &pg) || pg.Code != "42501" { // insufficient_privilege
			return err
		}
		select {
		case <-ctx.Done():
			return err
		case <-time.After(20 * time.Millisecond):
		}
	}
}

func (s *server) database(name string) string {
	u, err := url.Parse(s.pg.URL())
	if err != nil {
		panic(err) // localpg made it with net/url
	}
	u.Path = "/" + name
	return u.String()
}

func startServer() (*server, error) {
	// Not t.TempDir: that lies under a directory which the server's account cannot
	// enter when the tests run as root, and ends with the first test.
	dir, err := os.MkdirTemp(roomiest(), "pryday-test-")
	if err != nil {
		return nil, err
	}
	if err := os.Chmod(dir, 0o755); err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	pg, err := localpg.Start(ctx, localpg.Options{StateDir: dir, Disposable: true})
	if err != nil {
		os.RemoveAll(dir)
		return nil, err
	}
	lifeline, err := endWithProcess(pg.PID(), dir)
	if err != nil {
		return nil, errors.Join(err, pg.Stop(ctx))
	}
	admin, err := pgxpool.New(ctx, pg.URL())
	if err != nil {
		return nil, err
	}
	return &server{pg: pg, admin: admin, lifeline: lifeline}, nil
}

// roomiest is memory where there is plenty (containers often have 64 MB of it),
// since a slow disk makes a clone twenty times as long; else the usual place.
func roomiest() string {
	const memory, plenty = "/dev/shm", 2 << 30
	var stat syscall.Statfs_t
	if err := syscall.Statfs(memory, &stat); err == nil && uint64(stat.Bavail)*uint64(stat.Bsize) > plenty {
		return memory
	}
	return os.TempDir()
}

// makeTemplate makes a database to be cloned, out of another.
func makeTemplate(name, from string, prepare func(url string) error) error {
	s, err := start()
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	if _, err := s.admin.Exec(ctx, cloneOf(name, from)); err != nil {
		return fmt.Errorf("create the tests' template %s: %w", name, err)
	}
	if err := prepare(s.database(name)); err != nil {
		return fmt.Errorf("prepare the tests' template %s: %w", name, err)
	}
	return nil
}

// cloneOf is the statement that makes a clone. Copying the files beats writing
// them to the log here, since fsync is off.
func cloneOf(name, from string) string {
	return "CREATE DATABASE " + name + " TEMPLATE " + from + " STRATEGY FILE_COPY"
}
