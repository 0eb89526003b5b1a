package localpg

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
)

// deep gives a state directory whose socket would not fit into an address.
func deep(t *testing.T, p person) string {
	t.Helper()
	dir := filepath.Join(filepath.Dir(stateDir(t, p)), strings.Repeat("long/", 20)+"state")
	if err := os.MkdirAll(filepath.Dir(dir), 0o755); err != nil {
		t.Fatal(err)
	}
	copyUsed(t, p, dir)
	t.Cleanup(func() { endServer(t, dir) })
	return dir
}

func TestSocketPathTooLong(t *testing.T) {
	for _, p := range people(t) {
		t.Run(p.name, func(t *testing.T) {
			t.Parallel()
			dir := deep(t, p)
			first := run(t, p, dir)
			config, err := pgx.ParseConfig(first.URL)
			if err != nil {
				t.Fatal(err)
			}
			socket := config.Host
			if strings.HasPrefix(socket, dir) || len(filepath.Join(socket, socketFile)) > longestSocketPath() {
				t.Errorf("the socket is in %s", socket)
			}
			info, err := os.Lstat(socket)
			if err != nil {
				t.Fatal(err)
			}
			if !info.IsDir() || info.Mode().Perm() != 0o700 {
				t.Errorf("%s has mode %v", socket, info.Mode())
			}
			first.kill(t)
			second := run(t, p, dir)
			if !second.Adopted || second.URL != first.URL {
				t.Errorf("adopted %v at %s, want %s", second.Adopted, second.URL, first.URL)
			}
			second.stop(t, dir)
			if _, err := os.Lstat(socket); err == nil {
				t.Errorf("%s was left behind", socket)
			}
		})
	}
}

// What others put into /tmp under the expected name is not used.
func TestSocketDirectoryPreparedByOthers(t *testing.T) {
	for _, c := range []struct {
		name    string
		prepare func(dir, elsewhere string) error
	}{
		{"link", func(dir, elsewhere string) error { return os.Symlink(elsewhere, dir) }},
		{"open to all", func(dir, _ string) error {
			if err := os.Mkdir(dir, 0o755); err != nil {
				return err
			}
			return os.Chmod(dir, 0o777)
		}},
		{"file", func(dir, _ string) error { return os.WriteFile(dir, nil, 0o600) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Setenv("XDG_RUNTIME_DIR", "")
			who := account{uid: os.Getuid(), gid: os.Getgid()}
			l := newLayout(filepath.Join(t.TempDir(), strings.Repeat("x", 100)))
			expected, err := l.shortSocketDir(who)
			if err != nil {
				t.Fatal(err)
			}
			if again, err := l.shortSocketDir(who); err != nil || again != expected {
				t.Errorf("our own directory is not used again: %s %v, want %s", again, err, expected)
			}
			if err := os.Remove(expected); err != nil {
				t.Fatal(err)
			}
			elsewhere := t.TempDir()
			if err := os.Chmod(elsewhere, 0o700); err != nil {
				t.Fatal(err)
			}
			if err := c.prepare(expected, elsewhere); err != nil {
				t.Fatal(err)
			}
			defer os.Remove(expected)
			got, err := l.shortSocketDir(who)
			if err != nil {
				t.Fatal(err)
			}
			defer os.Remove(got)
			if got == expected {
				t.Errorf("%s is used", got)
			}
			if info, err := os.Lstat(got); err != nil || !info.IsDir() || info.Mode().Perm() != 0o700 {
				t.Errorf("%s: %v %v", got, info, err)
			}
		})
	}
}
