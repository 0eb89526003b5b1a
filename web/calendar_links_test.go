package web

import (
	"context"
	"regexp"
	"strings"
	"testing"

	"pryday/store"
	"pryday/testdata/testrun"
)

func (c *testClub) links(member string) []store.Link {
	c.t.Helper()
	var out []store.Link
	c.in(func(tx *store.Tx) (err error) {
		out, err = tx.Links(context.Background(), c.member[member])
		return err
	})
	return out
}

var calendarAddress = regexp.MustCompile(`http://[^"]*(/calendar/[a-z2-7]+/[a-z0-9-]+\.ics)`)

func TestCalendarAddressIsShownOnceAndWorks(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida := c.as("Brida")
	brida.get("/links").says(200, "None yet")
	made := brida.post("/links", fields("label", `Phone <b>"7"</b>`, "kind", "club", "alarms", "yes")).says(200, "It is shown this once", "all visits of the club")
	found := calendarAddress.FindStringSubmatch(made.body)
	if found == nil {
		t.Fatalf("no address on the page: %s", made.body)
	}
	webcal := "webcal" + strings.TrimPrefix(found[0], "http")
	if !strings.Contains(made.body, `href="`+webcal+`"`) {
		t.Errorf("no %s on the page", webcal)
	}
	if code, err := qrCode(webcal, "QR code of the calendar address"); err != nil || !strings.Contains(made.body, string(code)) {
		t.Errorf("no QR code of %s on the page (%v)", webcal, err)
	}
	feed := brida.get(found[1])
	if feed.status != 200 || !strings.Contains(feed.body, "BEGIN:VEVENT") || !strings.Contains(feed.body, "BEGIN:VALARM") {
		t.Fatalf("the address answers %d: %.200s", feed.status, feed.body)
	}
	again := brida.get("/links").says(200, `Phone &lt;b&gt;&#34;7&#34;&lt;/b&gt;`, "with alarms").hides(found[1], "<b>\"7\"")
	if calendarAddress.MatchString(again.body) {
		t.Error("the address is shown a second time")
	}
	c.server.feeds.Close() // writes down who read
	brida.get("/links").says(200, "Last asked for on", "Go-http-client", "1 time so far")
	// A device reads it: one tap too many must not end that.
	revoke := "/links/" + itoa(c.links("Brida")[0].ID) + "/revoke"
	brida.post(revoke, fields()).says(422, "Revoke the address that Phone")
	if !c.links("Brida")[0].RevokedAt.IsZero() {
		t.Error("it was revoked without asking")
	}
	brida.follow(revoke, fields("sure", "yes")).says(200, "Revoked")
}

func TestCalendarAddressIsReplacedAndRevoked(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida := c.as("Brida")
	first := calendarAddress.FindStringSubmatch(brida.post("/links", fields("label", "old", "kind", "member")).body)[1]
	id := itoa(c.links("Brida")[0].ID)
	second := calendarAddress.FindStringSubmatch(brida.post("/links/"+id+"/rotate", fields()).says(200, "The new address for old").body)[1]
	if first == second {
		t.Fatal("the address is the same")
	}
	endedCalendar(t, brida, first, "This calendar address was replaced")
	brida.post("/links/"+id+"/rotate", fields()).says(409, "Replaced already")
	links := c.links("Brida")
	revoke := "/links/" + itoa(links[1].ID) + "/revoke"
	brida.post(revoke, fields()).says(422, "Revoke the address made for old? Nothing has asked for its calendar yet.")
	brida.follow(revoke, fields("sure", "yes")).says(200, "Revoked", "revoked on")
	endedCalendar(t, brida, second, "This calendar address was withdrawn")
	brida.post("/links/"+id+"/delete", fields()).says(404)
	// Nobody else's, not even an organiser's of the club.
	for _, who := range []string{"Ansel", "Corin", "Dorrit"} {
		c.as(who).post("/links/"+id+"/revoke", fields()).says(404)
	}
	if got := c.links("Brida"); !got[0].RevokedAt.IsZero() {
		t.Error("somebody else revoked it")
	}
}

// endedCalendar checks that an address that ended serves one entry that says
// so, and that the page it names makes a new address.
func endedCalendar(t *testing.T, b *browser, address, says string) {
	t.Helper()
	testrun.Until(t, "the address has ended", func() bool { return strings.Contains(b.get(address).body, "SUMMARY:"+says) })
	body := strings.ReplaceAll(b.get(address).body, "\r\n ", "")
	page := regexp.MustCompile(`URL:http://[^/]+(/\S+)`).FindStringSubmatch(body)
	if strings.Count(body, "BEGIN:VEVENT") != 1 || page == nil || !strings.Contains(body, ": http") {
		t.Fatalf("%s", body)
	}
	b.get(page[1]).says(200, "Make an address")
}

func TestCalendarAddressForms(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida := c.as("Brida")
	orchard := itoa(c.club().Apiaries[0].ID)
	for _, test := range []struct {
		name   string
		form   []string
		status int
		says   string
	}{
		{"an apiary's", []string{"kind", "apiary", "apiary", orchard}, 200, "all visits to Orchard"},
		{"which apiary?", []string{"kind", "apiary", "label", "kept text"}, 422, "Choose the apiary."},
		{"no such apiary", []string{"kind", "apiary", "apiary", "999999"}, 404, "Nothing here"},
		{"nothing chosen", []string{"label", "x"}, 422, "Choose what the calendar shows."},
		{"a long label", []string{"kind", "club", "label", strings.Repeat("x", 81)}, 422, "up to 80"},
	} {
		t.Run(test.name, func(t *testing.T) { brida.post("/links", fields(test.form...)).says(test.status, test.says) })
	}
	// The exact place is for one's own address alone.
	brida.post("/links", fields("kind", "club", "place", "yes")).says(200)
	for _, l := range c.links("Brida") {
		if l.ExactPlace {
			t.Errorf("address %d of the kind %s shows the exact place", l.ID, l.Kind)
		}
	}
	if got := brida.send("POST", "/links", fields("kind", "club"), map[string]string{"Origin": "https://elsewhere.example"}); got.status != 403 {
		t.Errorf("a foreign origin: %d", got.status)
	}
	if n := len(c.links("Brida")); n != 2 {
		t.Errorf("%d addresses, want 2", n)
	}
}
