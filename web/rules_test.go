package web

import (
	"bytes"
	"context"
	"fmt"
	"mime/multipart"
	"net/http"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/store/records"
)

// upload sends a file with fields beside it.
func (b *browser) upload(path, name, content string, pairs ...string) *answer {
	b.c.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for i := 0; i < len(pairs); i += 2 {
		if err := w.WriteField(pairs[i], pairs[i+1]); err != nil {
			b.c.t.Fatal(err)
		}
	}
	part, err := w.CreateFormFile("file", name)
	if err == nil {
		_, err = part.Write([]byte(content))
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		b.c.t.Fatal(err)
	}
	r, err := http.NewRequest("POST", b.c.http.URL+path, &body)
	if err != nil {
		b.c.t.Fatal(err)
	}
	r.Header.Set("Content-Type", w.FormDataContentType())
	res, err := b.client.Do(r)
	if err != nil {
		b.c.t.Fatal(err)
	}
	defer res.Body.Close()
	var out bytes.Buffer
	if _, err := out.ReadFrom(res.Body); err != nil {
		b.c.t.Fatal(err)
	}
	return &answer{b.c.t, res.StatusCode, out.String(), res.Header}
}

// ruleFormOf is what the form of the rules sends, with some answers changed.
func ruleFormOf(r scheduler.Rules, version string, pairs ...string) map[string][]string {
	v := fields("version", version)
	for _, f := range ruleFields(&r) {
		v.Set(f[0], f[1])
	}
	for i := 0; i < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

func (c *testClub) rules() *store.RulesVersion {
	c.t.Helper()
	var held *store.RulesVersion
	c.in(func(tx *store.Tx) (err error) {
		held, err = tx.Rules(context.Background())
		return err
	})
	return held
}

func TestRulesArePreviewedSavedComparedAndRestored(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	page := ansel.get("/rules").says(200, "Version 2 holds")
	for i := range scheduler.RuleKeys() {
		k := scheduler.RuleKeys()[i]
		if !strings.Contains(page.body, `name="`+k.Path+`"`) || !strings.Contains(page.body, strings.ReplaceAll((&text.Speaker{}).Tell(k.Words()), "'", "&#39;")) {
			t.Errorf("the page does not ask for %s in its words", k.Path)
		}
	}
	asked := ruleFormOf(c.rules().Rules, "2", "odds_limit", "0,1", "stage.flow.starts", "06-09", "home.latitude", "47.5", "home.elevation_m", "300", "note", "less prying")

	seen := ansel.post("/rules/preview", asked).says(200, "Nothing is saved yet", "1 in 5", "1 in 10", "9 June",
		"visits", "openings", "hours", "expected hard", "expected stuck", "→", "Flow: The day on which this stage starts")
	if got := c.rules(); got.Version != 2 {
		t.Fatalf("a preview made version %d", got.Version)
	}
	// The preview's own form carries what was previewed.
	again := fields()
	for _, name := range append([]string{"version", "note"}, paths()...) {
		again.Set(name, seen.field(name))
	}
	ansel.follow("/rules", again).says(200, "Saved: version 3 holds now", "Go back to version 2")
	held := c.rules()
	if held.Version != 3 || held.Rules.OddsLimit != 0.1 || held.Note != "less prying" || held.AuthorID != c.member["Ansel"] || held.Rules.Home == nil {
		t.Fatalf("version %d, limit %v, note %q, author %d, home %v", held.Version, held.Rules.OddsLimit, held.Note, held.AuthorID, held.Rules.Home)
	}
	ansel.get("/rules/history").says(200, "Version 3", "by Ansel Whitlow: less prying", "4 rules changed", "Flow: The day on which this stage starts").hides("odds_limit")
	ansel.get("/rules/history?a=2&b=2").says(200, "They are the same")
	ansel.get("/rules/history?a=1&b=99").says(404)

	if back := ansel.post("/rules/preview", fields("restore", "2", "version", "3")).says(200, "1 in 5"); back.field("note") != "version 2 again" {
		t.Errorf("the note is %q", back.field("note"))
	}
	ansel.follow("/rules", fields("restore", "2", "version", "3")).says(200, "Saved: version 4")
	if got := c.rules(); got.Rules.OddsLimit != 0.2 || got.Rules.Home != nil || got.Note != "version 2 again" {
		t.Errorf("going back gave limit %v, home %v, note %q", got.Rules.OddsLimit, got.Rules.Home, got.Note)
	}
	ansel.get("/audit").says(200, "change rules", "version 3: odds_limit")
	// Whoever looks at an old version is told, and keeps what was typed.
	stale := ansel.post("/rules", ruleFormOf(held.Rules, "3", "max_days", "333")).says(409, "Somebody changed the rules")
	if !strings.Contains(stale.body, `value="333"`) {
		t.Error("what was typed is lost")
	}
	if got := c.rules(); got.Version != 4 {
		t.Errorf("a stale form made version %d", got.Version)
	}
}

// TestRulesPageSaysWhatWentBack: other rules, and the old ones again.
func TestRulesPageSaysWhatWentBack(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel, ctx := c.as("Ansel"), context.Background()
	plan := func() {
		t.Helper()
		if _, _, err := c.store.ReplanClub(ctx, c.id, today); err != nil {
			t.Fatal(err)
		}
	}
	was := c.openDays()
	ansel.follow("/rules", ruleFormOf(c.rules().Rules, "2", "odds_limit", "0.08", "max_days", "100")).says(200, "version 3").hides("back on the day", "again. What the rules since")
	plan()
	moved := c.openDays()
	ansel.get("/rules").hides("back on the day", "planned anew", "stay")
	preview := ansel.post("/rules/preview", fields("restore", "2", "version", "3")).says(200, "Visits that would move")
	ansel.follow("/rules", fields("restore", "2", "version", "3")).says(200, "Saved: version 4", "These are the rules of version 2 again")
	plan()
	back := 0
	for uid, day := range c.openDays() {
		if was[uid] == day && moved[uid] != 0 && moved[uid] != day {
			back++
			if !strings.Contains(preview.text(), (&text.Speaker{}).ShortDay(day)) {
				t.Errorf("the preview does not show %s", day)
			}
		}
	}
	if back < 2 {
		t.Fatalf("%d visits went back", back)
	}
	ansel.get("/rules").says(200, fmt.Sprintf("%d visits are back on the days that they had before.", back))
	c.speaks("Ansel", "de")
	c.as("Ansel").get("/rules").says(200, fmt.Sprintf("%d Besuche sind wieder auf den Tagen, die sie vorher hatten.", back))
}

// openDays are the days of the club's open visits.
func (c *testClub) openDays() map[string]scheduler.Date {
	c.t.Helper()
	out := map[string]scheduler.Date{}
	c.in(func(tx *store.Tx) error {
		visits, err := tx.Visits(context.Background(), store.VisitFilter{OpenOnly: true})
		for i := range visits {
			out[visits[i].UID] = visits[i].On
		}
		return err
	})
	return out
}

func paths() []string {
	var out []string
	for i := range scheduler.RuleKeys() {
		out = append(out, scheduler.RuleKeys()[i].Path)
	}
	return out
}

func TestRulesThatCannotBe(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	for _, test := range []struct{ path, value, says string }{
		{"min_days", "201", "a whole number, 0 to 200 days"},
		{"odds_limit", "2", "a number, 0.01 to 0.9"},
		{"odds_limit", "", "a number, 0.01 to 0.9"},
		{"min_days", "150", "fewer days than a box waits at most, 120"},
		{"gap_mm.least", "9.6", "less than the widest gap that they leave without comb, 9.525 mm"},
		{"hours.stuck", "0.1", "at least the extra for prying a hard box, 0.3 h"},
		{"stage.winter.required", "opening", `"every box opened once" is not allowed: write "nothing", since no box is opened in this stage`},
		{"max_days", "<b>1</b>", "a whole number, 30 to 1500 days"},
		{"stage.flow.required", "perhaps", `"opening", "visit" or "none"`},
		{"stage.flow.starts", "31-12", `a month and day such as "04-18"`},
		{"stage.flow.starts", "06-01", "the latitude and height of the place where this start was seen, under \"Where the club"},
		{"home.latitude", "47", "Give latitude and height, or neither."},
		{"reminders.send_at", "25:00", `a time of day such as "07:00"`},
		{"reminders.days_before", "7, x", "a list of at most 10"},
	} {
		for _, to := range []string{"/rules", "/rules/preview"} {
			rules := c.rules().Rules
			rules.MaxDays = 120
			got := ansel.post(to, ruleFormOf(rules, "2", test.path, test.value))
			if got.status != 422 || !strings.Contains(unescape(got.text()), test.says) {
				t.Errorf("%s = %q at %s: %d, does not say %q", test.path, test.value, to, got.status, test.says)
			}
		}
	}
	if got := c.rules(); got.Version != 2 {
		t.Errorf("a refused form made version %d", got.Version)
	}
}

func unescape(s string) string {
	return strings.NewReplacer("&#34;", `"`, "&#39;", "'", "&lt;", "<", "&gt;", ">", "&#43;", "+", "&amp;", "&").Replace(s)
}

func TestRulesFile(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	file := ansel.get("/rules/file")
	if got, err := records.ParseRules([]byte(file.body)); err != nil || got.OddsLimit != 0.2 {
		t.Fatalf("the downloaded file: %v, %v", got.OddsLimit, err)
	}
	if d := file.header.Get("Content-Disposition"); d != `attachment; filename="rules-2.toml"` {
		t.Errorf("Content-Disposition %q", d)
	}
	ansel.get("/rules/file?version=7").says(404)
	ansel.upload("/rules/upload", "rules.toml", "odds_limit = 0.15\n").says(200, "15 %", "Save these rules")
	bad := ansel.upload("/rules/upload", "<i>rules</i>.toml", "min_days = 21\nodds = 3\n").says(422, "cannot be used", "line 2", "odds")
	bad.hides("<i>rules")
	ansel.upload("/rules/upload", "rules.toml", "").says(400, "Choose a file first")
	ansel.upload("/rules/upload", "rules.toml", strings.Repeat("#", maxRules+maxForm+10)).says(413, "Too large")
	c.as("Brida").get("/rules/file").says(200)
}

func TestRulesBelongToOrganisers(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida := c.as("Brida")
	brida.get("/rules").says(200, "1 in 5", "every box opened once").hides(`name="odds_limit"`, "<form method=\"post\" action=\"/rules")
	brida.get("/rules/history").says(200).hides(`action="/rules/preview"`)
	form := ruleFormOf(c.rules().Rules, "2", "odds_limit", "0.1")
	for _, path := range []string{"/rules", "/rules/preview"} {
		brida.post(path, form).says(403)
		if got := c.as("Ansel").send("POST", path, form, map[string]string{"Origin": "https://elsewhere.example", "Sec-Fetch-Site": "cross-site"}); got.status != 403 {
			t.Errorf("a foreign origin at %s: %d", path, got.status)
		}
		if got := c.stranger().post(path, form); got.status != 303 || got.header.Get("Location") != "/sign-in" {
			t.Errorf("a stranger at %s: %d", path, got.status)
		}
	}
	brida.upload("/rules/upload", "r.toml", "min_days = 5\n").says(403)
	// Another club's organiser changes another club's rules.
	c.as("Dorrit").follow("/rules", form).says(200, "version 3")
	if got := c.rules(); got.Version != 2 {
		t.Errorf("another club made version %d here", got.Version)
	}
}
