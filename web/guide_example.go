package web

import (
	"time"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// inventedOpenings are those of the box that the guide draws for strangers: in
// which year before this one, on which day, and what was found.
var inventedOpenings = []struct {
	before int
	month  time.Month
	day    int
	found  scheduler.Difficulty
	off    scheduler.Scraped
}{
	{2, time.May, 4, scheduler.Loose, scheduler.ScrapedAll},
	{2, time.July, 28, scheduler.Light, scheduler.ScrapedPart},
	{1, time.April, 26, scheduler.Firm, scheduler.ScrapedAll},
	{1, time.June, 14, scheduler.Light, scheduler.ScrapedPart},
	{1, time.September, 20, scheduler.Hard, scheduler.ScrapedAll},
	{0, time.April, 22, scheduler.Light, scheduler.ScrapedAll},
	{0, time.July, 10, scheduler.Firm, scheduler.ScrapedPart},
	{0, time.September, 18, scheduler.Firm, scheduler.ScrapedAll},
}

// inventedRecords are of a club that nobody has: one hive of one box, planned on a
// day as any other is, by the rules that a club begins with.
func inventedRecords(say *text.Speaker, today scheduler.Date) *apiaryRecords {
	box := scheduler.Box{ID: 1, Name: say.Say("guide.dates.example-box"), Kind: "deep", SetUpOn: scheduler.NewDate(today.Year()-2, time.March, 1)}
	for _, o := range inventedOpenings {
		if on := scheduler.NewDate(today.Year()-o.before, o.month, o.day); on < today {
			box.Openings = append(box.Openings, scheduler.Opening{ID: on.String(), On: on, Joint: o.found, Frames: scheduler.NotTried, Scraped: o.off})
		}
	}
	club := &scheduler.Club{Rules: scheduler.DefaultRules(), Apiaries: []scheduler.Apiary{{
		ID: 1, Name: say.Say("guide.dates.example-apiary"), Latitude: 48, Longitude: 15, ElevationM: 350, Timezone: "UTC",
		Hives: []scheduler.Hive{{ID: 1, Name: say.Say("guide.dates.example-hive"), Boxes: []scheduler.Box{box}}},
	}}}
	p := &apiaryRecords{
		club: club, apiary: &club.Apiaries[0], names: scheduler.NewNames(club), say: say, today: today,
		season: scheduler.NewSeason(club.Apiaries[0].Place(), &club.Rules), plan: scheduler.PlanClub(club, today), states: map[int64]*scheduler.BoxState{},
	}
	for i := range p.plan.Boxes {
		p.states[p.plan.Boxes[i].BoxID] = &p.plan.Boxes[i]
	}
	return p
}

func (p *apiaryRecords) inventedBox() (*scheduler.Hive, *scheduler.Box) {
	h := &p.apiary.Hives[0]
	return h, &h.Boxes[0]
}
