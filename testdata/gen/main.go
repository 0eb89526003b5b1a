// Gen writes the records of the demo's invented club to standard output:
//
//	go run ./testdata/gen > testdata/demo.json
//
// Everything in it is made up, from a fixed seed, so that every run writes the
// same. How hard the boxes were to open follows the rates drawn here, which
// nothing else knows.
package main

import (
	"fmt"
	"os"

	"pryday/scheduler"
	"pryday/store/records"
	"pryday/testdata"
)

// demoDay is the day on which the story begins; the records end before it.
var demoDay, _ = scheduler.ParseDate(testdata.DemoDay)

func main() {
	c := club()
	h := newHistory(c)
	for i := range c.Apiaries {
		h.apiary(&c.Apiaries[i], &habits[i])
	}
	h.turns()
	h.comingVisits()
	said(c)
	doc, err := records.Encode(c)
	if err == nil {
		_, err = records.Parse(doc)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "gen:", err)
		os.Exit(1)
	}
	os.Stdout.Write(doc)
}
