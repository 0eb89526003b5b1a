// Package fleet runs several daemons on one Postgres with a streaming replica, all
// on loopback, and has them die: what they had in hand is neither lost nor done
// twice, and calendars stay.
package fleet

import (
	"testing"

	"go.uber.org/goleak"

	_ "pryday/testdata/testrun" // the same zones and lots in every run
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }
