package faults

import (
	"fmt"
	"os"
	"regexp"
	"slices"
	"testing"
	"time"

	"pryday/testdata/testrun"
)

// all are the rows of the table.
func all() []row {
	return slices.Concat(killRows(), stopRows(), scarceRows(), mailRows(), sharedRows(), clockRows(), backupRows(), versionRows())
}

// TestFaults plays the rows that -rows picks, -times times each; make faults and
// make soak do. make test leaves it out: what the rows look with is tested there.
func TestFaults(t *testing.T) {
	if !testrun.Soak() {
		t.Skip("make faults breaks the service; it takes minutes")
	}
	which, err := regexp.Compile(*pick)
	if err != nil {
		t.Fatalf("-rows: %v", err)
	}
	if *times < 1 {
		t.Fatalf("-times %d: want 1 or more", *times)
	}
	var results []*result
	t.Run("all", func(t *testing.T) {
		for _, r := range all() {
			if !which.MatchString(r.name()) {
				continue
			}
			res := &result{row: r, fresh: true}
			results = append(results, res)
			t.Run(r.name(), func(t *testing.T) {
				t.Parallel()
				began := time.Now()
				defer func() {
					res.took = time.Since(began)
					if t.Failed() {
						res.bad("it came to no end")
					}
					for _, w := range res.wrong {
						t.Error(w)
					}
					if !res.ok() && !t.Failed() {
						t.Error("its outcome is wrong")
					}
					fmt.Println(res.line())
				}()
				r.play(t, res, *times)
			})
		}
	})
	if len(results) == 0 {
		t.Fatalf("-rows %s: no row has such a name", *pick)
	}
	print(os.Stdout, results)
}
