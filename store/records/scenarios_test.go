package records

import (
	"os"
	"testing"

	"pryday/scheduler"
)

func TestScenarioFiles(t *testing.T) {
	read := func(name string) []byte {
		t.Helper()
		data, err := os.ReadFile("../../testdata/scenarios/" + name)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	if r, err := ParseRules(read("careful.toml")); err != nil || r.OddsLimit != 0.1 || r.Stages[scheduler.Autumn].Required != scheduler.OpeningRequired {
		t.Errorf("careful.toml: %+v, %v", r, err)
	}
	if _, err := ParseRules(read("crossed.toml")); err == nil || err.Error() != "line 2: min_days: 60 cannot be; allowed: fewer days than max_days, which is 45" {
		t.Errorf("crossed.toml: %v", err)
	}
	c := parse(t, string(read("one-hive.json")))
	if n, err := ParseOpenings(read("notebook.csv"), c, CSVOptions{}); n != 0 || err == nil {
		t.Errorf("notebook.csv made boxes without being asked to: %d, %v", n, err)
	}
	if n, err := ParseOpenings(read("notebook.csv"), c, CSVOptions{CreateBoxes: true}); n != 3 || err != nil {
		t.Errorf("notebook.csv added %d, %v", n, err)
	}
}
