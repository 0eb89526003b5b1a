package migrations_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"pryday/migrations"
)

// What has landed has been run by a database out there.
func TestLandedMigrationsStay(t *testing.T) {
	const first = "00001_clubs.sql"
	numbered := func(n int64) string { return fmt.Sprintf("%05d_more.sql", n) }
	next, later := numbered(migrations.Latest()+1), numbered(migrations.Latest()+2)
	for _, test := range []struct {
		name   string
		change func(h history)
		says   string // what the check complains of; nothing when empty
	}{
		{"as they are", func(history) {}, ""},
		{"changed", func(h history) { h.write(first, h.read(first)+"-- more\n") }, first + " has landed and was changed"},
		{"removed", func(h history) { h.rename(first, "gone") }, "each number from 1 on must be there once"},
		{"renamed", func(h history) { h.rename(first, "00001_members.sql") }, first + " has landed and is gone"},
		{"new", func(h history) { h.write(next, "-- new\n") }, next + " is not in migrations/SHA256SUMS: add it with make migrations"},
		{"new and added", func(h history) { h.write(next, "-- new\n"); h.check("--add") }, ""},
		{"changed and added", func(h history) { h.write(first, "-- other\n"); h.check("--add") }, first + " has landed and was changed"},
		{"after a gap", func(h history) { h.write(later, "-- new\n"); h.check("--add") }, "each number from 1 on must be there once"},
		{"changed with its line after a release", func(h history) {
			h.git("init", "-q")
			h.git("add", ".")
			h.git("-c", "user.name=a", "-c", "user.email=a@example.org", "commit", "-qm", "as released")
			h.git("tag", "v0.1.0")
			h.write(first, "-- other\n")
			lines := strings.SplitAfter(h.read("SHA256SUMS"), "\n")
			h.write("SHA256SUMS", strings.Join(lines[1:], ""))
			h.check("--add")
		}, "must still have the line of " + first + " that v0.1.0 carried"},
	} {
		t.Run(test.name, func(t *testing.T) {
			h := copyHistory(t)
			test.change(h)
			said, failed := h.check()
			if failed != (test.says != "") || !strings.Contains(said, test.says) {
				t.Errorf("failed %v, says %q", failed, said)
			}
		})
	}
}

// history is a copy of the migrations beside the script that checks them.
type history struct {
	t   *testing.T
	dir string
}

func copyHistory(t *testing.T) history {
	t.Helper()
	h := history{t, t.TempDir()}
	for _, dir := range []string{"migrations", "deploy"} {
		if err := os.Mkdir(filepath.Join(h.dir, dir), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	for _, pattern := range []string{"*.sql", "river.go", "SHA256SUMS", "../deploy/check-migrations"} {
		names, err := filepath.Glob(pattern)
		if err != nil || len(names) == 0 {
			t.Fatalf("%s: %v %v", pattern, names, err)
		}
		for _, name := range names {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			h.write(name, string(text))
		}
	}
	return h
}

func (h history) path(name string) string { return filepath.Join(h.dir, "migrations", name) }

func (h history) read(name string) string {
	text, err := os.ReadFile(h.path(name))
	if err != nil {
		h.t.Fatal(err)
	}
	return string(text)
}

func (h history) write(name, text string) {
	if err := os.WriteFile(h.path(name), []byte(text), 0o755); err != nil {
		h.t.Fatal(err)
	}
}

func (h history) rename(from, to string) {
	if err := os.Rename(h.path(from), h.path(to)); err != nil {
		h.t.Fatal(err)
	}
}

// check runs the script and returns what it says and whether it failed.
func (h history) check(args ...string) (said string, failed bool) {
	out, err := exec.Command(h.path("../deploy/check-migrations"), args...).CombinedOutput()
	if err != nil && len(out) == 0 {
		h.t.Fatal(err)
	}
	return string(out), err != nil
}

func (h history) git(args ...string) {
	out, err := exec.Command("git", append([]string{"-C", h.dir}, args...)...).CombinedOutput()
	if err != nil {
		h.t.Fatalf("git %v: %v %s", args, err, out)
	}
}
