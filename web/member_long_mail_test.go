package web

import (
	"net/url"
	"strings"
	"testing"
)

// TestLongMailIsAsked: a wish that is kept, and taken back.
func TestLongMailIsAsked(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.as("Corin")
	form := url.Values{"name": {"Corin Vale"}, "kind": {"digest", "day"}, "units": {"mm"}, "language": {""}}
	ticked := func() bool { return strings.Contains(b.get("/preferences").says(200).body, `name="long_mail" checked`) }
	if ticked() {
		t.Error("a mail is long before anybody asked")
	}
	form.Set("long_mail", "on")
	b.post("/preferences", form)
	if !ticked() {
		t.Error("the wish is not kept")
	}
	form.Del("long_mail")
	b.post("/preferences", form)
	if ticked() {
		t.Error("the wish cannot be taken back")
	}
}
