package feed

import (
	"github.com/google/uuid"

	"pryday/scheduler"
)

// records are an invented club: two apiaries in two zones, three hives.
func records() *scheduler.Club {
	day := scheduler.NewDate
	boxes := func(id int64, names ...string) (out []scheduler.Box) {
		for i, name := range names {
			out = append(out, scheduler.Box{
				ID: id + int64(i), Name: name, Kind: "deep", SetUpOn: day(2025, 4, 20),
				Openings: []scheduler.Opening{{
					ID: uuid.NewString(),
					On: day(2026, 7, 4+i), Joint: scheduler.Firm, Frames: scheduler.Light, Scraped: scheduler.ScrapedPart,
				}},
			})
		}
		return out
	}
	first := boxes(1, "A1", "A2", "A3")
	first[0].Openings = append(first[0].Openings, scheduler.Opening{
		ID: uuid.NewString(),
		On: day(2026, 8, 30), Joint: scheduler.Hard, Frames: scheduler.Hard, Scraped: scheduler.ScrapedNone,
		Condition: []scheduler.Condition{scheduler.LugBroken}, Note: "west side",
	})
	return &scheduler.Club{
		Rules: scheduler.DefaultRules(),
		Members: []scheduler.Member{
			{ID: 1, Name: "Ilse Varga", Email: "ilse@example.org", Role: scheduler.Organiser},
			{ID: 2, Name: "Tomo Reed", Email: "tomo@example.org", Role: scheduler.Keeper, Timezone: "Pacific/Auckland", Language: "de"},
		},
		Apiaries: []scheduler.Apiary{
			{
				ID: 1, Name: "Weir Meadow", Latitude: 52.2, Longitude: 0.1, ElevationM: 20, Timezone: "Europe/London",
				AccessNotes: "gate code 8812", Keepers: []int64{1},
				Hives: []scheduler.Hive{{ID: 1, Name: "Ash", Boxes: first}, {ID: 2, Name: "Beech", Boxes: boxes(11, "B1", "B2")}},
			},
			{
				ID: 2, Name: "Far Bank", Latitude: -41.3, Longitude: 174.7, ElevationM: 60, Timezone: "Pacific/Auckland", Keepers: []int64{2},
				Hives: []scheduler.Hive{{ID: 3, Name: "Cedar", Boxes: boxes(21, "C1", "C2")}},
			},
		},
	}
}
