// Package testrun makes a test run the same on every machine and every day.
//
// A package whose tests import it, if only for its effect, sees the time zone
// rules of one release, whatever the machine or the Go toolchain has, and
// draws the same lots each time. Seed has another run draw others. Until is
// the one way to wait for what gives no signal.
package testrun

import (
	"net"
	"os"
	"testing"
	"time"
)

// Soak tells whether the long matrices run in full (PRYDAY_SOAK=1).
func Soak() bool { return os.Getenv("PRYDAY_SOAK") != "" }

// patience is far longer than anything waited for takes on a busy machine.
const patience = 3 * time.Minute

// Until waits until something is so that nobody signals: a file, a process, a
// row. It looks often at first, and fails the test when patience is over.
func Until(t testing.TB, what string, done func() bool) {
	t.Helper()
	begun := time.Now()
	for pause := time.Millisecond; !done(); pause = min(pause*3/2, 20*time.Millisecond) {
		if time.Since(begun) > patience {
			t.Fatalf("waited %s in vain until %s", patience, what)
		}
		time.Sleep(pause) // the only way to wait for what gives no signal
	}
}

// FreePort returns a port of the loopback on which nobody listens.
func FreePort(t testing.TB) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}
