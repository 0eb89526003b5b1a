package web

import (
	"html"
	"regexp"
	"strings"
	"testing"
)

// hostile is text that breaks out of every quoting that was forgotten.
const hostile = `"><script>alert('x')</script>&amp;&lt; \ %00 ${1} {{.}} evil 🐝 ñ`

// What somebody types is shown back as it was typed, wherever it stands, and
// never becomes part of the page.
func TestHostileTextStaysText(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	shown := func(a *answer, want string) {
		t.Helper()
		if !strings.Contains(html.UnescapeString(a.body), want) {
			t.Errorf("the page does not show %q", want)
		}
		a.says(200).hides("<script>alert", "{{.}}<", `value=""><`)
	}
	shown(ansel.follow("/members/invite", fields("name", hostile, "email", "evil@example.org")), hostile)
	shown(ansel.get("/audit"), hostile+" as keeper")
	shown(ansel.post("/links", fields("label", hostile, "kind", "club")), hostile)
	note := strings.Join(strings.Fields(hostile), " ")
	shown(ansel.follow("/rules", ruleFormOf(c.rules().Rules, "2", "max_days", "390", "note", hostile)), note)
	shown(ansel.get("/rules/history"), note)
	shown(ansel.post("/rules/preview", ruleFormOf(c.rules().Rules, "3", "max_days", "380", "note", hostile)), note)
	shown(ansel.get("/members"), hostile)
	shown(ansel.get("/messages"), hostile) // the invitation

	// In forms that come back with what is wrong in them.
	for _, test := range []struct {
		name, path, field string
		form              []string
	}{
		{"invite", "/members/invite", "email", nil},
		{"link", "/links", "label", []string{"kind", "?"}},
		{"rule", "/rules", "max_days", nil},
		{"rule at preview", "/rules/preview", "reminders.days_before", nil},
		{"season", "/apiary/" + itoa(c.club().Apiaries[0].ID) + "/season", "season_shift_days", nil},
		{"hives", "/apiary/" + itoa(c.club().Apiaries[0].ID) + "/hives", "hives", nil},
	} {
		t.Run(test.name, func(t *testing.T) {
			form := ruleFormOf(c.rules().Rules, "3")
			for k, v := range fields(test.form...) {
				form[k] = v
			}
			form[test.field] = []string{hostile}
			got := ansel.post(test.path, form)
			got.t = t
			got.says(422).hides("<script>alert")
			if !strings.Contains(got.body, `value="`+htmlAttribute(hostile)+`"`) {
				t.Errorf("what was typed is not in the field %s again: %s", test.field, got.body)
			}
		})
	}
	for unseen, says := range map[string]string{"a\u202eb": "U+202E", "a\x1b[31m": "U+001B", "\u3164\u200b": "Nothing of this can be seen"} {
		says = strings.ReplaceAll(says, "+", "&#43;")
		if says != "Nothing of this can be seen" {
			ansel.post("/links", fields("label", unseen, "kind", "club")).says(422, says)
		}
		ansel.post("/members/invite", fields("name", unseen, "email", "x@example.org")).says(422, says)
	}
	for _, broken := range []string{"a\x00b", "\xff\xfe"} {
		ansel.post("/links", fields("label", broken, "kind", "club")).says(400, "Unreadable characters")
		ansel.post("/members/invite", fields("name", broken, "email", "x@example.org")).says(400, "Unreadable characters")
		ansel.upload("/records", "a.json", "{}", "do", broken).says(400, "Unreadable characters")
	}
}

// htmlAttribute writes text as html/template does in an attribute.
func htmlAttribute(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;", "'", "&#39;", "+", "&#43;").Replace(s)
}

// TestHostileAddresses: whatever stands in an address, nothing of ours fails.
func TestHostileAddresses(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	wild := regexp.MustCompile(`\{[^}]*\}`)
	for _, p := range patterns(t) {
		method, path, _ := strings.Cut(p, " ")
		if path == "/sign-out" || path == "/sign-out-everywhere" {
			continue // nothing is read of them
		}
		for _, evil := range []string{"%00", "%ff%fe", strings.Repeat("9", 3000)} {
			at := wild.ReplaceAllLiteralString(path, evil)
			queries := []string{"?on=" + evil + "&q=" + evil + "&box=" + evil + "&kind=" + evil}
			if path != at {
				queries = append(queries, "")
			}
			for _, query := range queries {
				if got := ansel.send(method, at+query, fields("sequence", "1"), nil); got.status >= 500 {
					t.Errorf("%s %s: %d", method, cutTo(at+query, 200), got.status)
				}
			}
		}
	}
}
