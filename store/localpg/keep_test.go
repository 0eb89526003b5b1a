package localpg

import (
	"context"
	"errors"
	"slices"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/testdata/testrun"
)

// startKept starts a server that is kept; the channel has what Keep returns.
func startKept(t *testing.T, ends series) (*Server, chan error) {
	t.Helper()
	self := people(t)[0]
	dir := stateDir(t, self)
	copyUsed(t, self, dir)
	s, err := Start(t.Context(), Options{StateDir: dir, Disposable: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Stop(context.Background()) })
	s.ends = ends
	kept := make(chan error, 1)
	s.keeping.Add(1) // so that a Stop right away waits for it
	go func() { defer s.keeping.Done(); kept <- s.Keep(context.Background()) }()
	return s, kept
}

// A server that is killed comes back at the same address, more than once; one
// that is stopped does not.
func TestKilledServerIsStartedInItsPlace(t *testing.T) {
	s, kept := startKept(t, nil)
	url := s.URL()
	for range 2 {
		before := s.PID()
		killServer(t, before)
		testrun.Until(t, "another server answers", func() bool {
			conn, err := pgx.Connect(t.Context(), url)
			if err != nil {
				return false
			}
			conn.Close(t.Context())
			return s.PID() != before
		})
	}
	if s.URL() != url {
		t.Errorf("it answers at %s now, before at %s", s.URL(), url)
	}
	last := s.PID()
	if err := s.Stop(t.Context()); err != nil {
		t.Error(err)
	}
	if err := <-kept; err != nil {
		t.Errorf("Keep of a server that was stopped: %v", err)
	}
	if s.PID() != last || isServer(last) {
		t.Error("a server that was stopped is started again")
	}
}

func TestServerThatKeepsEndingIsGivenUp(t *testing.T) {
	s, kept := startKept(t, slices.Repeat(series{time.Now()}, mostEnds))
	pid := s.PID()
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	if err := <-kept; !errors.Is(err, ErrKeepsEnding) {
		t.Errorf("Keep: %v", err)
	}
	if s.PID() != pid {
		t.Error("it was started once more")
	}
}

func TestSeriesOfEnds(t *testing.T) {
	now := time.Now()
	var ends series
	for i, want := range []time.Duration{0, 1, 2, 4, 8, 16, 30, 30, 30, 30} { // seconds
		if wait, again := ends.next(now); wait != want*time.Second || !again {
			t.Errorf("end %d: wait %s, again %t; want %ds", i+1, wait, again, want)
		}
		now = now.Add(time.Second)
	}
	if _, again := ends.next(now); again {
		t.Error("no series is too long")
	}
	if wait, again := ends.next(now.Add(endsWithin + time.Minute)); wait != 0 || !again {
		t.Errorf("long after a series: wait %s, again %t", wait, again)
	}
}
