package simulation

import (
	"testing"

	"pryday/scheduler"
)

// TestAClubKnowsWhatHasArrived: it corrects its odds by what stood in its book before
// the day, and not by what it has seen and not yet written down.
func TestAClubKnowsWhatHasArrived(t *testing.T) {
	const today = scheduler.Date(500)
	var got []scheduler.Date
	for _, o := range recordOf([]spoken{
		{on: today - 9, arrives: today - 9},
		{on: today - 8, arrives: today - 1},
		{on: today - 7, arrives: today},
		{on: today - 6, arrives: today + 3},
		{on: today - 5, arrives: never},
		{on: today, arrives: today},
	}, today) {
		got = append(got, o.On)
	}
	if len(got) != 2 || got[0] != today-9 || got[1] != today-8 {
		t.Errorf("known are the openings of %v", got)
	}
}
