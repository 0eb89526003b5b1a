// Package faults breaks the service while it works, and looks afterwards at what
// its users have: the real program on a PostgreSQL of its own, used by pages,
// command line and mail, killed, stopped, starved and lied to.
//
// make faults [FAULTS=regexp] [TIMES=5] prints a table of it, as make soak does;
// results.md keeps what came of it. A row with a wrong outcome fails the run.
package faults

import (
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"pryday/testdata/testrun"
)

var (
	pick  = flag.String("rows", ".", "break what the rows do whose name matches `REGEXP`")
	times = flag.Int("times", 1, "how often each row's fault comes, 1 or more")
)

func TestMain(m *testing.M) {
	flag.Parse()
	status := m.Run()
	for _, dir := range made {
		os.RemoveAll(dir)
	}
	os.Exit(status)
}

// made are folders that all rows share.
var made []string

// shared makes such a folder, in which PostgreSQL's account can reach what it needs.
func shared() (string, error) {
	dir, err := os.MkdirTemp("", "pryday-faults-")
	if err != nil {
		return "", err
	}
	made = append(made, dir)
	return dir, os.Chmod(dir, 0o755)
}

// program is the service, built as people build it.
var program = sync.OnceValues(func() (string, error) {
	dir, err := shared()
	if err != nil {
		return "", err
	}
	file := filepath.Join(dir, "pryday")
	return file, building(exec.Command("go", "build", "-trimpath", "-o", file, "./cmd/pryday"))
})

// empty is a state directory with the newest schema and no records.
var empty = sync.OnceValues(func() (string, error) {
	file, err := program()
	if err != nil {
		return "", err
	}
	dir, err := shared()
	if err != nil {
		return "", err
	}
	state := filepath.Join(dir, "state")
	return state, building(exec.Command(file, "migrate", "--state-dir", state))
})

func building(cmd *exec.Cmd) error {
	cmd.Dir = filepath.Dir(filepath.Dir(filepath.Dir(testrun.ZoneArchive))) // the module
	cmd.Stderr = os.Stderr
	return cmd.Run()
}
