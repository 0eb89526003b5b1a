package web

import (
	"context"
	"net/url"
	"slices"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/store"
)

func TestSeasonIsLookedAtShiftedAndLearned(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	quarry := c.club().Apiaries[1]
	path := "/apiary/" + itoa(quarry.ID) + "/season"
	brida := c.as("Brida")
	starts := scheduler.NewSeason(quarry.Place(), &quarryClub().Rules).Starts(2027)
	brida.get(path).says(200, "The table of bands of latitude for continental lands, at 48.5 degrees north", "build-up now", starts[scheduler.Flow].Format("2 January 2006"), "48.50° north, 300 m above the sea")

	shift := func() int { return c.club().Apiaries[1].SeasonShiftDays }
	brida.post(path, fields("season_shift_days", "9")).says(200, "Not saved yet: 9 days later", (starts[scheduler.Flow] + 9).Format("2 January 2006"))
	if shift() != 0 {
		t.Fatalf("looking shifted it by %d", shift())
	}
	before := c.visit("Quarry")
	brida.follow(path, fields("season_shift_days", "-12", "was", "0", "do", "save")).says(200, "now comes 12 days earlier", "Take it back")
	if shift() != -12 {
		t.Fatalf("shifted by %d, want -12", shift())
	}
	if after := c.visit("Quarry"); after.UID != before.UID {
		t.Errorf("the next visit is another record: %s, %s", before.UID, after.UID)
	}
	brida.post(path, fields("season_shift_days", "3", "was", "0", "do", "save")).says(409, "has changed")

	// Two observed days, four and eight days later than the plain table.
	pollen := starts[scheduler.BuildUp] + 4
	supers := scheduler.NewSeason(quarry.Place(), &quarryClub().Rules).Starts(2026)[scheduler.Flow] + 8
	brida.post(path, fields("by", "seen", "first-pollen", pollen.String(), "supers-on", supers.String())).says(200, "Not saved yet: 6 days later", "the season comes 8 days later")
	brida.post(path, fields("by", "seen", "first-pollen", pollen.String())).says(200, "Not saved yet: 4 days later", "First good pollen came in, ")
	brida.post(path, fields("by", "seen")).says(422, "Give at least one day.")
	brida.post(path, fields("by", "seen", "first-pollen", (today+1).String())).says(422, "still to come")
	brida.post(path, fields("by", "seen", "first-pollen", "2026-09-20")).says(422, "at most 75 can be learnt from").hides("First-pollen")
	brida.post(path, fields("by", "seen", "first-pollen", "soon")).says(422, "is not a day")
	for _, typed := range []string{"91", "-91", "1.5", "<b>"} {
		got := brida.post(path, fields("season_shift_days", typed)).says(422, "a whole number from -90 to 90")
		if typed == "<b>" && !strings.Contains(got.body, `value="&lt;b&gt;"`) {
			t.Error("what was typed is lost")
		}
	}
	c.as("Ansel").get("/audit").says(200, "move season", "Quarry: 12 days earlier")
}

func TestRegionIsLookedAtAndChosen(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	quarry := c.club().Apiaries[1]
	path, rules := "/apiary/"+itoa(quarry.ID)+"/season", &quarryClub().Rules
	region := func() scheduler.Region { return c.club().Apiaries[1].Region }
	flow := func(region scheduler.Region) string {
		return scheduler.NewSeason(scheduler.Place{Latitude: quarry.Latitude, ElevationM: quarry.ElevationM, Region: region}, rules).
			Starts(2027)[scheduler.Flow].Format("2 January 2006")
	}
	brida := c.as("Brida")
	brida.get("/apiary/"+itoa(quarry.ID)).says(200, "Not right?").holds(`href="` + path + `#region"`)
	brida.get(path).says(200, "Not right? Choose the region", "By where it lies: continental lands")
	choice := func(to, was string) url.Values { return fields("by", "region", "region", to, "was-region", was) }
	brida.post(path, choice("western-europe", "continental")).
		says(200, "Not saved yet: by the dates for western Europe", flow(scheduler.WesternEurope), flow(scheduler.Continental)).hides("counted from the dates of before")
	if region() != scheduler.Continental {
		t.Fatalf("looking chose %q", region())
	}
	brida.post(path, choice("moon", "continental")).says(422, "is no region")
	save := choice("western-europe", "continental")
	save.Set("do", "save")
	brida.follow(path, save).says(200, "now goes by the dates for western Europe", "Take it back", "by where the apiary lies, the dates for continental lands would hold")
	if region() != scheduler.WesternEurope {
		t.Fatalf("chosen is %q", region())
	}
	brida.post(path, save).says(409, "has changed")
	c.as("Ansel").get("/audit").says(200, "move season", "Quarry: western Europe")

	// With a shift, the region's dates may have it in them already.
	brida.follow(path, fields("season_shift_days", "-12", "was", "0", "do", "save"))
	brida.post(path, choice("", "western-europe")).says(200, "Its shift (12 days earlier than the rules say) was counted")
	save = choice("", "western-europe")
	save.Set("do", "save")
	brida.follow(path, save).says(200, "now goes by the dates for continental lands").hides("This region was chosen")
	if region() != "" {
		t.Fatalf("chosen is %q", region())
	}
	for _, typed := range []string{"western-europe"} {
		form := choice(typed, "")
		form.Set("do", "save")
		c.as("Corin").post(path, form).says(403)
	}
}

func TestDaysSeenAreKeptAndCountNextDoor(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	club := c.club()
	quarry, other := club.Apiaries[1], club.Apiaries[0]
	path := "/apiary/" + itoa(quarry.ID) + "/season"
	seen := func() []scheduler.SeasonDay { return c.club().Apiaries[1].Seen }
	starts := scheduler.NewSeason(quarry.Place(), &club.Rules).Starts(2026)
	supers := starts[scheduler.Flow] + 8
	brida := c.as("Brida")
	brida.get(path).says(200).hides("Neighbouring apiaries")
	brida.post(path, fields("by", "seen", "supers-on", supers.String())).says(200, "Not saved yet: 8 days later").
		holds(`name="supers-on" value="` + supers.String() + `"`)
	if seen() != nil {
		t.Fatalf("looking kept %v", seen())
	}
	save := fields("season_shift_days", "8", "was", "0", "supers-on", supers.String(), "do", "save")
	brida.follow(path, save).says(200, "now comes 8 days later", "Days that you saw here:", "the season comes 8 days later").
		holds(`name="forget" value="supers-on ` + supers.String() + `"`)
	if want := []scheduler.SeasonDay{{Event: scheduler.SupersOn, On: supers}}; !slices.Equal(seen(), want) {
		t.Fatalf("kept %v, want %v", seen(), want)
	}
	// A day of before counts along with a new one, and one in the future does not.
	pollen := starts[scheduler.BuildUp] + 2
	brida.post(path, fields("by", "seen", "first-pollen", pollen.String())).says(200, "Not saved yet: 5 days later")
	brida.post(path, fields("season_shift_days", "8", "supers-off", (today+1).String(), "do", "save")).says(422, "still to come")

	// The other apiary is a degree away: its own table, less weight, no own day.
	c.in(func(tx *store.Tx) error {
		near := other
		near.Latitude, near.Longitude, near.ElevationM = quarry.Latitude+0.09, quarry.Longitude, quarry.ElevationM
		_, err := tx.UpdateApiary(context.Background(), near, today)
		return err
	})
	// 10 km: 0.5 / 1.5 of a day, so that a third of 8 days is learnt.
	next := "/apiary/" + itoa(other.ID) + "/season"
	ansel := c.as("Ansel")
	ansel.get(next).says(200, "Neighbouring apiaries saw days too", "Quarry, 10 km away: by 1 day seen there the season comes 8 days later", "counts 0.33 of a day")
	ansel.post(next, fields("by", "seen")).says(200, "Not saved yet: 3 days later")

	// Taking the day out leaves the shift, and can be taken back.
	out := fields("season_shift_days", "8", "was", "8", "forget", "supers-on "+supers.String(), "do", "save")
	brida.follow(path, out).says(200, "A day is taken out", "8 days later than the rules say, as before").holds(`name="supers-on"`)
	if c := c.club().Apiaries[1]; c.Seen != nil || c.SeasonShiftDays != 8 {
		t.Errorf("seen %v, shifted by %d", c.Seen, c.SeasonShiftDays)
	}
	ansel.post(next, fields("by", "seen")).says(422, "Give at least one day.")
}

func TestSeasonInTheTropicsAndTheSouth(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	rules := scheduler.DefaultRules()
	id := c.importClub(&scheduler.Club{
		Name: "Far", Rules: rules,
		Members: []scheduler.Member{{ID: 1, Name: "Faye Okello", Email: "faye@example.org", Role: scheduler.Organiser}},
		Apiaries: []scheduler.Apiary{
			{ID: 1, Name: "Equator", Latitude: -1.2, Longitude: 36.8, ElevationM: 1600, Timezone: "Africa/Nairobi"},
			{ID: 2, Name: "South", Latitude: -37.8, Longitude: 145, ElevationM: 30, Timezone: "Australia/Melbourne"},
		},
	})
	c.id = id
	far := c.club()
	faye := c.as("Faye")
	faye.get("/apiary/"+itoa(far.Apiaries[0].ID)+"/season").says(200, "seasons follow rain", "Inside the tropics there is nothing to shift").hides("Work out the shift")
	// In June the southern year is the one that began in the spring before.
	starts := scheduler.NewSeason(far.Apiaries[1].Place(), &rules).Starts(2026)
	faye.get("/apiary/"+itoa(far.Apiaries[1].ID)+"/season").says(200, "for the mild lands of the south, at 37.8 degrees south", starts[scheduler.BuildUp].Format("2 January 2006"), "winter now")
}

func TestSeasonBelongsToThoseWhoTendIt(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	path := "/apiary/" + itoa(c.club().Apiaries[1].ID) + "/season"
	form := fields("season_shift_days", "5", "do", "save")
	c.as("Corin").get(path).says(200).hides(`name="season_shift_days"`)
	c.as("Corin").post(path, form).says(403)
	c.as("Dorrit").get(path).says(404)
	c.as("Dorrit").post(path, form).says(404)
	if got := c.stranger().get(path); got.status != 303 {
		t.Errorf("a stranger: %d", got.status)
	}
	if got := c.as("Brida").send("POST", path, form, map[string]string{"Origin": "https://elsewhere.example"}); got.status != 403 {
		t.Errorf("a foreign origin: %d", got.status)
	}
	if got := c.club().Apiaries[1].SeasonShiftDays; got != 0 {
		t.Errorf("shifted by %d", got)
	}
}
