package main

import (
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"pryday/testdata/testrun"
)

// The daemon outlives its private PostgreSQL: killed, that is started again in its
// place, while pages say that it is away.
func TestDaemonOutlivesItsDatabase(t *testing.T) {
	h := newHouse(t, "", time.Now())
	address, log, stop := startServeAt(t, h.clock, "--state-dir", h.state, "--listen", "127.0.0.1:0")
	defer stop()
	status := func(path string) int {
		res, err := http.Get(address + path)
		if err != nil {
			t.Fatalf("the daemon ended: %v\n%s", err, log())
		}
		res.Body.Close()
		return res.StatusCode
	}
	testrun.Until(t, "it is ready", func() bool { return status("/readyz") == http.StatusOK })
	text, err := os.ReadFile(filepath.Join(h.state, "postgres/data/postmaster.pid"))
	if err != nil {
		t.Fatal(err)
	}
	first, _, _ := strings.Cut(string(text), "\n")
	pid, err := strconv.Atoi(first)
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	testrun.Until(t, "it is started again", func() bool { return strings.Count(log(), "private PostgreSQL started") == 2 })
	testrun.Until(t, "it is ready again", func() bool { return status("/readyz") == http.StatusOK })
	if got := status("/sign-in/abcdef"); got != http.StatusGone {
		t.Errorf("a page that asks the database: %d", got)
	}
}
