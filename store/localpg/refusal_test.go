package localpg

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

func TestDataOfAnotherVersion(t *testing.T) {
	self := people(t)[0]
	dir := stateDir(t, self)
	copyUsed(t, self, dir)
	if err := os.WriteFile(filepath.Join(dir, "postgres/data/PG_VERSION"), []byte("12\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Start(t.Context(), Options{StateDir: dir})
	if !errors.Is(err, ErrWrongVersion) || !strings.Contains(err.Error(), "written by PostgreSQL 12") {
		t.Errorf("Start: %v", err)
	}
}

func TestWhatIsNoDataDirectoryIsLeftAlone(t *testing.T) {
	self := people(t)[0]
	dir := stateDir(t, self)
	keep := filepath.Join(dir, "postgres/data/precious")
	if err := os.MkdirAll(filepath.Dir(keep), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(keep, []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Start(t.Context(), Options{StateDir: dir})
	if err == nil || !strings.Contains(err.Error(), "PG_VERSION is missing") {
		t.Errorf("Start: %v", err)
	}
	if _, err := os.Stat(keep); err != nil {
		t.Error(err)
	}
}

func TestStateDirectoryOutOfReach(t *testing.T) {
	each(t, func(t *testing.T, p person, dir string) {
		// For root, a place that the server's account cannot enter; for everybody
		// else, one that they cannot write.
		above := filepath.Dir(dir)
		if p.cred != nil {
			if err := os.Chown(above, 0, 0); err != nil {
				t.Fatal(err)
			}
		}
		mode := os.FileMode(0o500)
		if os.Getuid() == 0 {
			mode = 0o700
		}
		if err := os.Chmod(above, mode); err != nil {
			t.Fatal(err)
		}
		d := try(t, p, dir)
		if !strings.Contains(d.Failed, above) || !strings.Contains(d.Failed, "permission denied") {
			t.Errorf("it says %q, which does not name %s", d.Failed, above)
		}
		if p.cred == nil && os.Getuid() == 0 && !strings.Contains(d.Failed, "cannot enter "+above) {
			t.Errorf("it says %q, not who cannot enter %s", d.Failed, above)
		}
	})
}

// rootAndNobody gives both accounts, or false where the tests do not run as root:
// nobody else can make files of another account.
func rootAndNobody(t *testing.T) (root, nobody person, ok bool) {
	t.Helper()
	all := people(t)
	if len(all) == 1 {
		t.Log("only root can play this")
		return root, nobody, false
	}
	return all[0], all[1], true
}

// A daemon may run as an account of its own, and root give commands beside it or
// while it is down; whichever comes first.
func TestRootOnAStateDirectoryOfAnotherAccount(t *testing.T) {
	root, nobody, ok := rootAndNobody(t)
	if !ok {
		return
	}
	dir := stateDir(t, nobody)
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Chown(dir, int(nobody.cred.Uid), int(nobody.cred.Gid)); err != nil {
		t.Fatal(err)
	}
	for _, p := range []person{root, nobody, root, nobody} {
		d := run(t, p, dir)
		exec1(t, d.URL, "CREATE TABLE IF NOT EXISTS note ()")
		d.stop(t, dir)
		if err := os.Remove(filepath.Join(dir, "postgres.log")); err != nil {
			t.Fatal(err)
		}
	}
}

func TestDataOfAnotherAccount(t *testing.T) {
	root, nobody, ok := rootAndNobody(t)
	if !ok {
		return
	}
	dir := stateDir(t, root)
	copyUsed(t, root, dir)
	d := try(t, nobody, dir)
	if !strings.Contains(d.Failed, "belongs to") || !strings.Contains(d.Failed, "runs as nobody") {
		t.Errorf("it says %q", d.Failed)
	}
}

// The messages are Postgres's own; disk full and read-only from memory of its
// source (errno texts of the C library).
func TestExplainExit(t *testing.T) {
	for _, c := range []struct{ name, log, says string }{
		{"disk full", "2027-05-01 UTC [7] FATAL:  could not write lock file \"postmaster.pid\": No space left on device\n", "is full"},
		{"initdb on a full disk", "initdb: error: could not write file \"/x/PG_VERSION\": No space left on device\n", "is full"},
		{"read-only", "FATAL:  could not create lock file \"postmaster.pid\": Read-only file system\n", "cannot be written"},
		{"rights", "FATAL:  could not open file \"x\": Permission denied\n", "may not use its files"},
		{"a bad setting", "LOG:  unrecognized configuration parameter\nFATAL:  configuration file \"postgresql.conf\" contains errors\n", "contains errors"},
		{"silent", "", "exit status 1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := newLayout(t.TempDir())
			before := "FATAL:  of another day\n"
			if err := os.WriteFile(l.log, []byte(before+c.log), 0o600); err != nil {
				t.Fatal(err)
			}
			err := l.explainExit(errors.New("exit status 1"), int64(len(before)), account{})
			for _, want := range []string{c.says, l.log} {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("%q does not say %q", err, want)
				}
			}
			if strings.Contains(err.Error(), "another day") {
				t.Errorf("%q quotes an earlier start", err)
			}
		})
	}
}

func TestPidFile(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       pidFile
	}{
		{"ready", "812\n/s/data\n1795613588\n5432\n/s/run\n\n  4653 12\nready   \n", pidFile{812, "/s/run", true}},
		{"starting", "812\n/s/data\n1795613588\n5432\n/s/run\n\n  4653 12\nstarting\n", pidFile{812, "/s/run", false}},
		{"cut short", "812\n/s/da", pidFile{pid: 812}},
		{"empty", "", pidFile{}},
		{"negative", "-1\n", pidFile{}},
		{"no number", "ready\nready\nready\nready\nrun\nready\nready\nready", pidFile{0, "run", true}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := *parsePidFile(c.text); got != c.want {
				t.Errorf("%+v, want %+v", got, c.want)
			}
		})
	}
}

// A lock file may hold anything after a crash of the machine.
func FuzzPidFile(f *testing.F) {
	f.Add("812\n/s/data\n1795613588\n5432\n/s/run\n\n  4653 12\nready   \n")
	f.Fuzz(func(t *testing.T, text string) {
		if pf := parsePidFile(text); pf.pid < 0 {
			t.Errorf("process number %d would signal a whole group", pf.pid)
		}
	})
}

func TestOnlyTheServerIsRecognised(t *testing.T) {
	self := people(t)[0]
	dir := stateDir(t, self)
	copyUsed(t, self, dir)
	d := run(t, self, dir)
	data := newLayout(dir).data
	for _, c := range []struct {
		name string
		pid  int
		data string
		want process
	}{
		{"the server", d.PID, data, ours},
		{"the server, of other data", d.PID, data + "2", other},
		{"its daemon", d.cmd.Process.Pid, data, other},
		{"this test", os.Getpid(), data, other},
		{"nothing", 1 << 30, data, gone},
		{"no number", 0, data, gone},
	} {
		if got := inspectProcess(c.pid, c.data); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
	}
}

func TestDefaultStateDir(t *testing.T) {
	t.Setenv("HOME", "/home/somebody")
	for _, c := range []struct{ xdg, want string }{
		{"", "/home/somebody/.local/state/pryday"},
		{"/srv/state", "/srv/state/pryday"},
		{"relative", "/home/somebody/.local/state/pryday"}, // XDG Base Directory Specification: ignore it
	} {
		t.Setenv("XDG_STATE_HOME", c.xdg)
		want := c.want
		if syscall.Getuid() == 0 {
			want = "/var/lib/pryday"
		}
		if got, err := DefaultStateDir(); got != want || err != nil {
			t.Errorf("XDG_STATE_HOME=%q: %s %v, want %s", c.xdg, got, err, want)
		}
	}
}
