package records_test

import (
	"errors"
	"fmt"
	"time"

	"pryday/scheduler"
	"pryday/store/records"
)

const document = `{"club": {"name": "Hollow Lane Bees", "members": []},
 "apiaries": [{"name": "Orchard", "latitude": 44.1, "longitude": -79.9, "elevation_m": 310, "timezone": "America/Toronto",
  "hives": [{"name": "Larch", "boxes": [{"name": "R14", "kind": "deep", "set_up_on": "2025-05-01",
   "openings": [{"on": "2026-08-10", "joint": 2, "frames": 1, "scraped": "all"}]}]}]}]}`

func ExampleParse() {
	club, err := records.Parse([]byte(document))
	if err != nil {
		fmt.Println(err)
		return
	}
	plan := scheduler.PlanClub(club, scheduler.NewDate(2027, time.April, 20))
	fmt.Println(club.Apiaries[0].Name, plan.Visits[0].On)
	// Output:
	// Orchard 2027-05-12
}

func ExampleProblems() {
	_, err := records.Parse([]byte(`{"club": {"name": "Hollow Lane Bees", "members": []}, "apiaries": [{"name": "Orchard", "latitude": 144}]}`))
	var problems records.Problems
	if errors.As(err, &problems) {
		fmt.Println(problems[0])
	}
	// Output:
	// line 1, column 68: apiaries[0].longitude: is missing; allowed: a number from -180 to 180 degrees, east positive
}
