// Package season plays people through a season of the demonstration's club:
// the real store, the real jobs, the mails as they arrive and the pages behind
// their buttons, on a clock that goes from day to day.
//
// TestSeasons prints what people got and what became of the visits; make season
// runs it whole.
package season

import (
	"testing"

	"pryday/store/storetest"
)

func TestMain(m *testing.M) { storetest.Main(m) }
