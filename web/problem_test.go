package web

import "testing"

// Whoever is signed in finds the menu on a page that says what went wrong, in
// their club and language; a stranger finds where to sign in.
func TestProblemsLeadOn(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	for _, path := range []string{"/nowhere", "/box/999999", "/rules/history/999"} {
		c.as("Ansel").get(path).says(404, "Repairs", "Who changed what", "To what is due")
	}
	v := c.visit("Quarry")
	c.as("Brida").post(visitPath(v.UID)+"/take", fields("sequence", "999")).says(409, "This visit has changed", "See the visit", "To what is due").holds(`href="` + visitPath(v.UID) + `"`)
	c.as("Brida").get("/records").says(403, "Repairs").hides("Who changed what")
	c.stranger().get("/nowhere").says(404, "Sign in").hides("Repairs", "To what is due")
}
