package localpg

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

func TestFirstAndSecondStart(t *testing.T) {
	each(t, func(t *testing.T, p person, dir string) {
		first := run(t, p, dir, "LOCALPG_TEST_DURABLE=1")
		exec1(t, first.URL, "CREATE TABLE note (said text)")
		exec1(t, first.URL, "INSERT INTO note VALUES ('kept')")
		if got := ask[string](t, first.URL, "SHOW listen_addresses"); got != "" {
			t.Errorf("it listens on TCP: %q", got)
		}
		if got := ask[string](t, first.URL, "SHOW fsync"); got != "on" {
			t.Errorf("fsync is %s", got)
		}
		if ask[bool](t, first.URL, "SELECT rolsuper FROM pg_roles WHERE rolname = current_user") {
			t.Error("the owner is a superuser, whom row-level security never binds")
		}
		exec1(t, first.URL, "SET ROLE pryday_app")
		if got := ask[string](t, first.URL, "SELECT pg_get_userbyid(datdba) FROM pg_database WHERE datname = current_database()"); got != OwnerRole {
			t.Errorf("the database belongs to %s", got)
		}
		if got := ask[string](t, first.URL, "SELECT upper('łąka — цвет')"); got != "ŁĄKA — ЦВЕТ" {
			t.Errorf("letters outside ASCII have no upper case: %q", got)
		}
		first.stop(t, dir)

		second := run(t, p, dir, "LOCALPG_TEST_DURABLE=1")
		if second.Adopted || second.PID == first.PID {
			t.Error("the second start is of the first server")
		}
		if got := ask[string](t, second.URL, "SELECT said FROM note"); got != "kept" {
			t.Errorf("note is %q", got)
		}
		second.stop(t, dir)
		if _, err := os.Stat(filepath.Join(dir, "postgres.log")); err != nil {
			t.Errorf("the server's log is not kept: %v", err)
		}
	})
}

// Data of an earlier version has a serving role that cannot log in: the next start
// lets it, and beside a daemon of that version Attach does.
func TestServingRoleOfAnEarlierVersion(t *testing.T) {
	p := people(t)[0]
	dir := stateDir(t, p)
	copyUsed(t, p, dir)
	d := run(t, p, dir)
	super := strings.Replace(d.URL, "user="+OwnerRole, "user="+superuser, 1)
	exec1(t, super, "ALTER ROLE "+AppRole+" NOLOGIN")
	at, err := Attach(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	if got := ask[string](t, at.Serving, "SELECT session_user::text"); got != AppRole {
		t.Errorf("logs in as %s", got)
	}
	exec1(t, super, "ALTER ROLE "+AppRole+" NOLOGIN")
	d.stop(t, dir)

	d = run(t, p, dir)
	serving := strings.Replace(d.URL, "user="+OwnerRole, "user="+AppRole, 1)
	if ask[bool](t, serving, "SELECT pg_has_role('"+OwnerRole+"', 'MEMBER')") {
		t.Error("the serving login can become the owner")
	}
	d.stop(t, dir)
}

func TestOnlyTheServersAccountCanReachIt(t *testing.T) {
	eachUsed(t, func(t *testing.T, p person, dir string) {
		run(t, p, dir)
		want := os.Getuid()
		if p.cred != nil {
			want = int(p.cred.Uid)
		}
		for _, name := range []string{"postgres", "postgres/run", "postgres/data"} {
			info, err := os.Lstat(filepath.Join(dir, name))
			if err != nil {
				t.Fatal(err)
			}
			if info.Mode().Perm() != 0o700 {
				t.Errorf("%s has mode %v", name, info.Mode())
			}
			owner := int(info.Sys().(*syscall.Stat_t).Uid)
			if want == 0 && owner == 0 || want != 0 && owner != want {
				t.Errorf("%s belongs to uid %d, and the daemon runs as %d", name, owner, want)
			}
		}
		if pf, err := newLayout(dir).readPidFile(); err != nil || pf == nil {
			t.Errorf("lock file: %v %v", pf, err)
		}
	})
}

func TestSecondDaemonIsRefused(t *testing.T) {
	oneUsed(t, func(t *testing.T, p person, dir string) {
		first := run(t, p, dir)
		second := try(t, p, dir)
		if !strings.Contains(second.Failed, ErrInUse.Error()) || !strings.Contains(second.Failed, dir) {
			t.Errorf("the second daemon said %q", second.Failed)
		}
		exec1(t, first.URL, "SELECT 1")
		first.stop(t, dir)
	})
}

func TestAttachBesideADaemon(t *testing.T) {
	self := people(t)[0]
	dir := stateDir(t, self)
	copyUsed(t, self, dir)
	link := filepath.Join(t.TempDir(), "link")
	if err := os.Symlink(dir, link); err != nil {
		t.Fatal(err)
	}
	d := begin(t, self, dir) // and do not wait: Attach does
	at, err := Attach(t.Context(), link)
	if err != nil {
		t.Fatal(err)
	}
	d.listen(t)
	if at.Owner != d.URL {
		t.Errorf("attached to %s, the daemon is at %s", at.Owner, d.URL)
	}
	exec1(t, at.Serving, "SELECT 1")
	d.stop(t, dir)

	soon, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	if _, err := Attach(soon, dir); !errors.Is(err, ErrNotRunning) || !strings.Contains(err.Error(), dir) {
		t.Errorf("Attach without a server: %v", err)
	}
	if _, err := Attach(t.Context(), filepath.Join(dir, "nowhere")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("Attach without a state directory: %v", err)
	}
}

// A terminal's Ctrl-C goes to every process of the group in front.
func TestCtrlCReachesTheDaemonOnly(t *testing.T) {
	oneUsed(t, func(t *testing.T, p person, dir string) {
		d := run(t, p, dir)
		group, err := syscall.Getpgid(d.PID)
		if err != nil {
			t.Fatal(err)
		}
		if group == d.cmd.Process.Pid {
			t.Error("the server is in the daemon's process group")
		}
		if err := syscall.Kill(-d.cmd.Process.Pid, syscall.SIGINT); err != nil {
			t.Fatal(err)
		}
		if err := d.cmd.Wait(); err != nil {
			t.Errorf("Ctrl-C: %v\n%s", err, d.errs)
		}
		if isServer(d.PID) {
			t.Error("the server still runs")
		}
	})
}

func TestStopInTimeOrCutOff(t *testing.T) {
	self := people(t)[0]
	dir := stateDir(t, self)
	copyUsed(t, self, dir)
	s, err := Start(t.Context(), Options{StateDir: dir, Disposable: true})
	if err != nil {
		t.Fatal(err)
	}
	over, cancel := context.WithCancel(context.Background())
	cancel()
	if err := s.Stop(over); err == nil || !strings.Contains(err.Error(), "recovers at the next start") {
		t.Errorf("Stop without time: %v", err)
	}
	if err := s.Stop(t.Context()); err != nil {
		t.Errorf("a second Stop: %v", err)
	}
	<-s.Exited()
	s, err = Start(t.Context(), Options{StateDir: dir, Disposable: true})
	if err != nil {
		t.Fatalf("start after a stop without time: %v", err)
	}
	if err := s.Stop(t.Context()); err != nil {
		t.Error(err)
	}
}

func TestExitedTellsOfACrash(t *testing.T) {
	self := people(t)[0]
	dir := stateDir(t, self)
	copyUsed(t, self, dir)
	s, err := Start(t.Context(), Options{StateDir: dir, Disposable: true})
	if err != nil {
		t.Fatal(err)
	}
	select {
	case <-s.Exited():
		t.Fatal("it has ended, it says")
	default:
	}
	if err := syscall.Kill(s.PID(), syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	select {
	case <-s.Exited():
	case <-time.After(10 * time.Second):
		t.Fatal("the end of the server goes unnoticed")
	}
	if err := s.Stop(t.Context()); err != nil {
		t.Errorf("Stop of a server that is gone: %v", err)
	}
}

// The environment of whoever starts the daemon may be full of another server.
func TestEnvironmentDoesNotLead(t *testing.T) {
	for name, value := range map[string]string{
		"PGPORT": "1", "PGHOST": "nowhere.invalid", "PGUSER": "stranger", "PGDATABASE": "elsewhere", "PGDATA": "/nowhere",
		"PGSSLMODE": "verify-full", "PGPASSWORD": "wrong", "LC_ALL": "xx_XX", "TZ": "Nowhere/Land",
	} {
		t.Setenv(name, value)
	}
	s, err := Start(t.Context(), Options{StateDir: stateDir(t, people(t)[0]), Disposable: true})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Stop(context.Background())
	if got := ask[string](t, s.URL(), "SELECT current_user || '@' || current_database()"); got != "pryday_owner@pryday" {
		t.Errorf("connected as %s", got)
	}
}

func TestStateDirWithAnAwkwardName(t *testing.T) {
	t.Parallel()
	self := people(t)[0]
	dir := filepath.Join(filepath.Dir(stateDir(t, self)), `bees' "own", [hut] * łąka 蜂 -D b -c d%20e`)
	t.Cleanup(func() { endServer(t, dir) })
	first := run(t, self, dir)
	exec1(t, first.URL, "CREATE TABLE note ()")
	first.kill(t)
	second := run(t, self, dir)
	if !second.Adopted {
		t.Error("the server left behind was not taken over")
	}
	exec1(t, second.URL, "TABLE note")
	second.stop(t, dir)
}
