package localpg

import (
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"sync"
	"syscall"
	"testing"

	"pryday/testdata/testrun"
)

// person is whom a daemon runs as.
type person struct {
	name string
	cred *syscall.Credential // nil: whoever runs the tests
}

// people are the accounts that the scenarios are played with: whoever runs the
// tests, and, if that is root, somebody without rights as well.
func people(t *testing.T) []person {
	t.Helper()
	if os.Getuid() != 0 {
		return []person{{name: "person"}}
	}
	u, err := user.Lookup("nobody")
	if err != nil {
		t.Fatal(err)
	}
	uid, _ := strconv.Atoi(u.Uid)
	gid, _ := strconv.Atoi(u.Gid)
	return []person{{name: "root"}, {"nobody", &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}}
}

// each plays a scenario with every account, each time on a new state directory.
func each(t *testing.T, scenario func(t *testing.T, p person, dir string)) {
	t.Helper()
	for _, p := range people(t) {
		t.Run(p.name, func(t *testing.T) {
			t.Parallel()
			scenario(t, p, stateDir(t, p))
		})
	}
}

// eachUsed is each on a state directory that has seen a daemon before, which
// spares scenarios that are not about the first start most of their time.
func eachUsed(t *testing.T, scenario func(t *testing.T, p person, dir string)) {
	t.Helper()
	each(t, func(t *testing.T, p person, dir string) {
		copyUsed(t, p, dir)
		scenario(t, p, dir)
	})
}

// one is each with an account drawn by lot, and in the soak with each: for
// scenarios in which whose the processes are should not matter.
func one(t *testing.T, scenario func(t *testing.T, p person, dir string)) {
	t.Helper()
	if testrun.Soak() {
		each(t, scenario)
		return
	}
	all := people(t)
	p := all[testrun.Rand(t).IntN(len(all))]
	t.Run(p.name, func(t *testing.T) {
		t.Parallel()
		scenario(t, p, stateDir(t, p))
	})
}

// oneUsed is one on a state directory that has seen a daemon before.
func oneUsed(t *testing.T, scenario func(t *testing.T, p person, dir string)) {
	t.Helper()
	one(t, func(t *testing.T, p person, dir string) {
		copyUsed(t, p, dir)
		scenario(t, p, dir)
	})
}

func copyUsed(t *testing.T, p person, dir string) {
	t.Helper()
	usedMu.Lock()
	defer usedMu.Unlock()
	from, ok := used[p.name]
	if !ok {
		from = newStateDir(t, p)
		d := run(t, p, from)
		d.stop(t, from)
		used[p.name] = from
	}
	if out, err := exec.Command("cp", "-Rp", from, dir).CombinedOutput(); err != nil {
		t.Fatalf("copy a used state directory: %v\n%s", err, out)
	}
}

var (
	used   = map[string]string{}
	usedMu sync.Mutex
)

// stateDir is a state directory yet to be made. Not below t.TempDir, which the
// server's account cannot enter when the tests run as root.
func stateDir(t *testing.T, p person) string {
	t.Helper()
	dir := newStateDir(t, p)
	t.Cleanup(func() {
		endServer(t, dir)
		os.RemoveAll(filepath.Dir(dir))
	})
	return dir
}

// endServer ends what a failed test left running.
func endServer(t *testing.T, dir string) {
	if pf, _ := newLayout(dir).readPidFile(); pf != nil && inspectProcess(pf.pid, newLayout(dir).data) == ours {
		syscall.Kill(pf.pid, syscall.SIGKILL)
		waitGone(t, pf.pid)
	}
}

func newStateDir(t *testing.T, p person) string {
	t.Helper()
	base := os.TempDir()
	var stat syscall.Statfs_t
	if err := syscall.Statfs("/dev/shm", &stat); err == nil && uint64(stat.Bavail)*uint64(stat.Bsize) > 2<<30 {
		base = "/dev/shm" // a first start is three times as fast
	}
	parent, err := os.MkdirTemp(base, "localpg-")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(parent, 0o755); err != nil {
		t.Fatal(err)
	}
	if p.cred != nil {
		if err := os.Chown(parent, int(p.cred.Uid), int(p.cred.Gid)); err != nil {
			t.Fatal(err)
		}
	}
	return filepath.Join(parent, "state")
}
