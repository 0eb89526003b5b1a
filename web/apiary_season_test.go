package web

import (
	"strings"
	"testing"

	"pryday/scheduler"
)

func TestSeasonIsLookedAtShiftedAndLearned(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	quarry := c.club().Apiaries[1]
	path := "/apiary/" + itoa(quarry.ID) + "/season"
	brida := c.as("Brida")
	starts := scheduler.NewSeason(quarry.Place(), &quarryClub().Rules).Starts(2027)
	brida.get(path).says(200, "The table of bands of latitude at 48.5 degrees north", "build-up now", starts[scheduler.Flow].Format("2 January 2006"), "48.50° north, 300 m above the sea")

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
	faye.get("/apiary/"+itoa(far.Apiaries[1].ID)+"/season").says(200, "degrees south", starts[scheduler.BuildUp].Format("2 January 2006"), "winter now")
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
