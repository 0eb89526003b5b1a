package web

import (
	"fmt"
	"net/http"
	"testing"

	"pryday/notify"
	"pryday/scheduler"
	"pryday/scheduler/text"
)

// TestHoursBesideTheButton: whoever is asked to go hears how long it takes, and that it
// is more than a day before they say yes; two share it.
func TestHoursBesideTheButton(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Orchard")
	club := c.club()
	hours := scheduler.ExpectedHours(club, &v)
	en, de := text.In("en", ""), text.In("de", "")
	size := en.Say("page.visit.size", len(v.Boxes), text.Hours(hours))
	day := "More than a day's work for you"
	b := c.as("Ansel")
	b.get("/").says(http.StatusOK, size).hides(day)
	b.get(visitPath(v.UID)).says(http.StatusOK, en.Say("page.visit.hours", text.Hours(hours))).hides(day)

	gives := (hours + club.HoursEach(v.ApiaryID, v.Expected(), 2)) / 2 // enough for two, and not for one
	for _, name := range []string{"Ansel", "Brida"} {
		c.asOwner(`UPDATE member SET hours_a_day = $1 WHERE id = $2`, gives, c.member[name])
	}
	v = c.visit("Orchard")
	b.get("/").says(http.StatusOK, size, day)
	b.get(visitPath(v.UID)).says(http.StatusOK, day+" ("+en.Number(gives, 1)+" hours)", "take boxes off it").holds(`href="` + visitPath(v.UID) + `#stacks"`)
	c.stranger().get(c.act(notify.GoDeed, "Ansel", v)).says(http.StatusOK, size, day)
	c.speaks("Ansel", "de")
	b.get("/").says(http.StatusOK, de.Say("page.visit.size", len(v.Boxes), text.Hours(hours)), "Mehr als ein Arbeitstag für dich")

	c.as("Brida").follow(visitPath(v.UID)+"/take", fields("sequence", fmt.Sprint(v.Sequence))).says(http.StatusOK, day)
	b.get(visitPath(v.UID)).says(http.StatusOK, "Etwa").hides("Mehr als ein Arbeitstag")
}
