package scheduler_test

import (
	"fmt"
	"time"

	"pryday/scheduler"
)

// orchard is one hive of two boxes: R14 below, which was firm a year ago, and
// R15 above it.
func orchard() *scheduler.Club {
	opened := func(year int, m time.Month, d int, how scheduler.Difficulty) scheduler.Opening {
		return scheduler.Opening{On: scheduler.NewDate(year, m, d), Joint: how, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedAll}
	}
	setUp := scheduler.NewDate(2025, time.May, 1)
	return &scheduler.Club{
		Name:  "Hollow Lane Bees",
		Rules: scheduler.DefaultRules(),
		Apiaries: []scheduler.Apiary{{
			ID: 1, Name: "Orchard", Latitude: 44.1, Longitude: -79.9, ElevationM: 310, Timezone: "America/Toronto",
			Hives: []scheduler.Hive{{ID: 1, Name: "Larch", Boxes: []scheduler.Box{
				{ID: 1, Name: "R14", Kind: "deep", SetUpOn: setUp, Openings: []scheduler.Opening{opened(2026, time.August, 10, scheduler.Firm)}},
				{ID: 2, Name: "R15", Kind: "medium", SetUpOn: setUp, Openings: []scheduler.Opening{opened(2026, time.August, 10, scheduler.Light)}},
			}}},
		}},
	}
}

func ExamplePlanClub() {
	club := orchard()
	plan := scheduler.PlanClub(club, scheduler.NewDate(2027, time.April, 20))
	names := scheduler.NewNames(club)
	for _, v := range plan.Visits[:2] {
		fmt.Println(v.On, v.Status)
		for _, b := range v.Boxes {
			hive, box := names.Box(b.BoxID)
			fmt.Printf("  %s %s, open by %s: %s, chance %.2f\n", hive, box, b.Due, b.Reason, b.Odds)
		}
	}
	// Output:
	// 2027-05-12 confirmed
	//   Larch R15, open by 2027-05-12: required, chance 0.06
	//   Larch R14, open by 2027-05-12: required, chance 0.09
	// 2027-09-29 tentative
	//   Larch R15, open by 2028-05-01: above, chance 0.13
	//   Larch R14, open by 2027-09-29: odds, chance 0.17
}

func ExampleNewSeason() {
	rules := scheduler.DefaultRules()
	season := scheduler.NewSeason(scheduler.Place{Latitude: 44.1, ElevationM: 310}, &rules)
	starts := season.Starts(2027)
	for stage := scheduler.BuildUp; stage <= scheduler.Winter; stage++ {
		fmt.Println(starts[stage], stage)
	}
	fmt.Println(season.MayOpen(scheduler.NewDate(2027, time.January, 15)))
	// Output:
	// 2027-04-19 build-up
	// 2027-06-06 flow
	// 2027-07-30 late-summer
	// 2027-09-15 autumn
	// 2027-10-21 winter
	// false
}

func ExampleOdds() {
	// A box of which nothing is known, opened three months of flow ago.
	fmt.Printf("%.2f\n", scheduler.Odds(90, 0, 0.45+0.14, scheduler.Hard))
	// Output:
	// 0.16
}

func ExamplePreview() {
	club := orchard()
	rules := club.Rules
	rules.OddsLimit = 0.08
	report := scheduler.Preview(club, rules, scheduler.NewDate(2027, time.April, 20))
	fmt.Printf("visits a year: %d, then %d\n", report.Before.Visits, report.After.Visits)
	fmt.Println("visits that would change:", len(report.Changes))
	// Output:
	// visits a year: 2, then 2
	// visits that would change: 1
}
