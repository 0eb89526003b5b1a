package simulation

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"testing"
)

// TestTheTidyWorldStaysAsItWas holds the tidy world bit for bit: what keepers
// wrote down in the years before any policy, and what calendars came to. Whoever
// changes the seasons' table moves the calendars' days and writes the second
// line anew; nothing may change the first.
func TestTheTidyWorldStaysAsItWas(t *testing.T) {
	var records []any
	for seed := range 5 {
		for _, s := range NewPopulation(seed, Size{Apiaries: 2, Hives: 3, Boxes: 3, Years: 2, History: 3}, DefaultAssumptions()).sites {
			records = append(records, s.boxes, s.climate.glued, s.keeper, s.pop.grades, s.apiary.Latitude, s.apiary.ElevationM, s.apiary.Weekdays)
		}
	}
	if got := digest(fmt.Sprintf("%.10g", records)); got != tidyTruth {
		t.Errorf("the truth has changed: %s", got)
	}
	rows, err := json.Marshal(Run([]Policy{Calendar(2), Calendar(3), Calendar(4), Calendar(5)}, []int{3001, 3002, 3003}, DefaultSize(), DefaultAssumptions()).Rows())
	if err != nil {
		t.Fatal(err)
	}
	if got := digest(string(rows)); got != tidyCalendars {
		t.Errorf("calendars come to something else: %s\n%s", got, rows)
	}
}

const (
	tidyTruth     = "73aa6f4daf1b1489"
	tidyCalendars = "d133ac5257115101"
)

func digest(s string) string { return fmt.Sprintf("%x", sha256.Sum256([]byte(s)))[:16] }
