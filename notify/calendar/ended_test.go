package calendar

import (
	"strings"
	"testing"

	ics "github.com/arran4/golang-ical"
)

// The last feed of an address has one event, in its reader's language, and
// names the page where a new address is found.
func TestEnded(t *testing.T) {
	const page = "https://hives.example/links?club=1"
	for _, c := range []struct {
		how      string
		feed     func(Ended) Feed
		language string
		summary  string
		nowhere  bool // no page helps
	}{
		{"replaced", Replaced, "", "This calendar address was replaced", false},
		{"replaced", Replaced, "de", "Diese Kalenderadresse wurde ersetzt", false},
		{"withdrawn", Withdrawn, "en-GB", "This calendar address was withdrawn", false},
		{"withdrawn", Withdrawn, "de-AT", "Diese Kalenderadresse wurde zurückgezogen", false},
		{"withdrawn", ApiaryRemoved, "en", "This calendar address was withdrawn", false},
		{"withdrawn", LeftBehind, "de", "Diese Kalenderadresse wurde zurückgezogen", true},
	} {
		where := page
		if c.nowhere {
			where = ""
		}
		a, _ := decode(t, render(t, c.feed(Ended{Name: "Mine", Language: c.language, UID: "1-7", On: today, At: changed, Page: where})))
		if len(a.Events()) != 1 {
			t.Fatalf("%s: %d events", c.how, len(a.Events()))
		}
		e := a.Events()[0]
		value := func(p ics.ComponentProperty) string {
			if e.GetProperty(p) == nil {
				return ""
			}
			return e.GetProperty(p).Value
		}
		if value("SUMMARY") != c.summary || value("URL") != where || !strings.HasSuffix(value("DESCRIPTION"), where) || value("DESCRIPTION") == "" || e.Id() != c.how+"-1-7@pryday" {
			t.Errorf("%s: %v", c.how, e)
		}
	}
}
