package web

import (
	"net/http"
	"strings"
	"testing"
)

// A number is seen by those who share a visit and by organisers, and by nobody else.
func TestPhonesOfThoseWhoShareAVisit(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	brida, corin, ansel := c.as("Brida"), c.as("Corin"), c.as("Ansel")
	const number = "01 (234) 56 evenings"
	ansel.post("/preferences", fields("name", "Ansel", "units", "mm", "phone", "nothing to dial")).says(http.StatusUnprocessableEntity, "is no phone number").holds(`value="nothing to dial"`)
	for name, b := range map[string]*browser{"Brida": brida, "Ansel": ansel} {
		b.follow("/preferences", fields("name", name, "units", "mm", "phone", number)).says(http.StatusOK, "Saved").holds(`value="` + number + `"`)
	}
	ansel.get(visitPath(v.UID)).says(http.StatusOK, number).holds(`href="tel:0123456"`) // an organiser
	corin.get(visitPath(v.UID)).hides("(234) 56")
	brida.get(visitPath(v.UID)).hides("(234) 56") // her own
	seq := corin.get(visitPath(v.UID)).field("sequence")
	corin.follow(visitPath(v.UID)+"/take", fields("sequence", seq))
	if who := c.visitByUID(v.UID).Who; len(who) == 1 { // she was only expected, and now he goes
		brida.follow(visitPath(v.UID)+"/take", fields("sequence", brida.get(visitPath(v.UID)).field("sequence")))
	}
	corin.get(visitPath(v.UID)).says(http.StatusOK, number)
	ansel.get("/members").says(http.StatusOK, number)
	corin.get("/members").hides("(234) 56")
	if !strings.Contains(ansel.get("/records/file").body, `"phone": "`+number) {
		t.Error("the export has no number")
	}
	for _, path := range []string{"/", "/month", "/members", "/apiaries"} {
		c.as("Dorrit").get(path).hides("(234) 56")
	}
}
