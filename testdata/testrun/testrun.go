// Package testrun makes a test run the same on every machine and every day.
//
// A package whose tests import it, if only for its effect, sees the time zone
// rules of one release, whatever the machine or the Go toolchain has, and
// draws the same lots each time. Seed has another run draw others. Until is
// the one way to wait for what gives no signal.
package testrun

import (
	"os"
	"testing"
	"time"
)

// Soak tells whether the long matrices run in full (PRYDAY_SOAK=1).
func Soak() bool { return os.Getenv("PRYDAY_SOAK") != "" }

// patience is far longer than anything waited for takes on a busy machine.
const patience = time.Minute

// Until waits until something is so that nobody signals: a file, a process, a
// row. It fails the test after a minute.
func Until(t testing.TB, what string, done func() bool) {
	t.Helper()
	for deadline := time.Now().Add(patience); !done(); time.Sleep(2 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("waited a minute in vain until %s", what)
		}
	}
}
