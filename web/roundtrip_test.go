package web

import (
	"fmt"
	"html"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// TestFormsGiveBackWhatWasTyped sends text that breaks careless pages through
// every form that takes words, and looks for it on the page that follows.
func TestFormsGiveBackWhatWasTyped(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	v := c.visit("Quarry")
	hive, apiary, day := "/hive/"+itoa(h.ID), fmt.Sprintf("/apiary/%d", v.ApiaryID), today.String()
	a, b := c.as("Ansel"), c.as("Brida")
	place := []string{"latitude", "48.5", "longitude", "15", "elevation_m", "300", "timezone", "UTC"}
	for name, row := range map[string]struct {
		by     *browser
		path   string
		field  string
		others []string
		look   string // where it shows, when not on the page that follows
	}{
		"a member's name":           {b, "/preferences", "name", []string{"units", "in"}, ""},
		"why somebody is away":      {b, "/preferences/away", "reason", []string{"from", "2027-12-01", "until", "2027-12-05"}, ""},
		"an apiary's name":          {a, "/apiary/1/save", "name", append(place, "access_notes", "x"), "/apiaries"},
		"how to get in":             {b, apiary + "/save", "access_notes", append(place, "name", "Quarry"), ""},
		"the landowner's reason":    {b, apiary + "/no-go", "reason", []string{"from", "2027-12-01", "until", "2027-12-05"}, ""},
		"a standstill's reason":     {b, apiary + "/standstill", "reason", []string{"from", "2028-12-01", "until", "2028-12-05"}, ""},
		"a hive's name":             {b, hive + "/save", "name", nil, ""},
		"why a hive is left alone":  {b, hive + "/leave", "reason", []string{"from", "2027-12-01", "until", "2027-12-05"}, ""},
		"a box's mark":              {b, hive + "/box-save", "name", []string{"box", itoa(box.ID), "kind", "deep"}, ""},
		"a new box's mark":          {b, hive + "/box-add", "name", []string{"kind", "deep", "set_up_on", day}, ""},
		"a note on an opening":      {b, hive + "/record", "note", []string{"box", itoa(box.ID), "joint", "2", "on", day}, ""},
		"a note, when asked again":  {b, hive + "/record", "note", []string{"box", itoa(box.ID), "on", day}, "stays"},
		"a wrong gap, asked again":  {b, hive + "/record", "gap-size-0", []string{"box", itoa(box.ID), "joint", "2", "on", day, "gap-at-0", "entrance"}, "stays"},
		"an apiary's form, refused": {a, "/apiaries", "name", []string{"latitude", "x"}, "stays"},
	} {
		t.Run(name, func(t *testing.T) {
			hostile := `</textarea>"'><script>x()</script>&amp; {{.}} %s Ü🐝` // within every limit
			if row.field == "name" && strings.Contains(row.path, "/box-") {
				hostile = `"'><script>x()</script>&lt; Ü🐝`
			}
			if strings.HasSuffix(row.path, "/box-add") { // a hive has each mark once
				hostile = `"'><script>x()</script>&gt; Ü🐝`
			}
			fields := url.Values{row.field: {hostile}}
			for i := 0; i+1 < len(row.others); i += 2 {
				fields.Set(row.others[i], row.others[i+1])
			}
			var got *answer
			switch row.look {
			case "stays":
				got = row.by.post(row.path, fields).says(http.StatusUnprocessableEntity)
			case "":
				got = row.by.follow(row.path, fields)
			default:
				row.by.post(row.path, fields).says(http.StatusSeeOther)
				got = row.by.get(row.look)
			}
			if !strings.Contains(html.UnescapeString(got.body), hostile) {
				t.Errorf("it does not come back: %s", cutTo(got.text(), 500))
			}
			got.hides("<script>x()")
		})
	}
}
