package web

import (
	"context"
	"html"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/google/uuid"

	"pryday/notify"
	"pryday/store"
	"pryday/store/storetest"
	"pryday/testdata/testrun"
)

// wired serves a club over a wire to its database that a test can cut.
func wired(t testing.TB) (*testClub, *storetest.Wire) {
	t.Helper()
	wire := storetest.NewWire(t, storetest.From(t, "served", fillServed))
	return serveAt(t, wire.URL), wire
}

// back waits until the service reaches its database again.
func (c *testClub) back() {
	c.t.Helper()
	testrun.Until(c.t, "the service is ready", func() bool { return c.stranger().get("/readyz").status == http.StatusOK })
}

// isOutage fails unless an answer is the page of an outage.
func (a *answer) isOutage() *answer {
	a.t.Helper()
	a.says(http.StatusServiceUnavailable, "The records cannot be reached just now")
	if got := a.header.Get("Retry-After"); got != retryAfter {
		a.t.Errorf("Retry-After %q", got)
	}
	return a
}

// routes are the addresses that the sources list, with something for each of
// their names.
func routes(t *testing.T) (all [][]string) {
	t.Helper()
	for _, file := range []string{"server.go", "club_routes.go"} {
		source, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, regexp.MustCompile(`\b(?:page|member|lead|organiser)\("(GET|POST) (/[^"]*)"`).FindAllStringSubmatch(string(source), -1)...)
	}
	if len(all) < 100 {
		t.Fatalf("%d routes", len(all))
	}
	return all
}

func TestEveryPageSaysThatTheDatabaseIsAway(t *testing.T) {
	t.Parallel()
	c, wire := wired(t)
	v := c.visit("Quarry")
	mailed := c.act(notify.CantGoDeed, "Brida", v)
	b, stranger := c.as("Ansel"), c.stranger()
	wire.Cut()
	for _, r := range routes(t) {
		path := regexp.MustCompile(`\{[^}]*\}`).ReplaceAllString(strings.TrimSuffix(r[2], "{$}"), "1")
		got := b.send(r[1], path, fields("a", "1"), nil)
		if got.status != http.StatusServiceUnavailable || got.header.Get("Retry-After") == "" || !strings.Contains(got.body, "<h1>") {
			t.Errorf("%s %s: %d, %s", r[1], r[2], got.status, cutTo(got.text(), 200))
		}
	}
	for _, path := range []string{mailed, "/sign-in/abc"} {
		stranger.get(path).isOutage()
		stranger.post(path, fields("to", "2027-06-09")).isOutage().holds(`action="` + path + `"`)
	}
	stranger.get("/sign-in").says(http.StatusOK) // needs nothing from there
	stranger.post("/sign-in", fields("email", "brida@example.org")).isOutage()
	german := map[string]string{"Accept-Language": "de"}
	stranger.send(http.MethodGet, "/sign-in/abc", nil, german).says(http.StatusServiceUnavailable, "Die Einträge sind gerade nicht erreichbar", "Noch einmal versuchen").inGerman()
	stranger.send(http.MethodPost, "/sign-in/abc", fields("a", "1"), german).says(http.StatusServiceUnavailable, "Noch einmal senden").inGerman()
	got := b.send(http.MethodPost, "/rules", fields("a", "1"), map[string]string{"Accept": problemJSON})
	if got.status != http.StatusServiceUnavailable || got.header.Get("Content-Type") != problemJSON || got.header.Get("Retry-After") == "" {
		t.Errorf("a script is told %d, %v", got.status, got.header)
	}
	for path, want := range map[string]int{"/readyz": 503, "/calendar/abcdefgh.ics": 503, "/healthz": 200, "/metrics": 200, "/worker.js": 200} {
		if got := stranger.get(path); got.status != want || (got.header.Get("Retry-After") != "") != (want == 503) {
			t.Errorf("%s: %d, Retry-After %q", path, got.status, got.header.Get("Retry-After"))
		}
	}
	wire.Mend()
	c.back()
	b.get("/").says(http.StatusOK)
}

// carried are the fields that a page of an outage sends again.
func (a *answer) carried() url.Values {
	out := url.Values{}
	for _, m := range regexp.MustCompile(`<input type="hidden" name="([^"]*)" value="([^"]*)">`).FindAllStringSubmatch(a.body, -1) {
		out.Add(html.UnescapeString(m[1]), html.UnescapeString(m[2]))
	}
	return out
}

// Whoever is signed in is told in their own language, whatever the browser asks for,
// though nothing can be read of them; signed out, as the browser asks.
func TestAnOutageSpeaksTheMembersLanguage(t *testing.T) {
	t.Parallel()
	c, wire := wired(t)
	c.speaks("Brida", "de")
	brida, ansel, leaving := c.as("Brida"), c.as("Ansel"), c.as("Brida")
	for _, b := range []*browser{brida, ansel, leaving} {
		b.get("/").says(http.StatusOK)
	}
	leaving.post("/sign-out", nil).says(http.StatusSeeOther)
	wire.Cut()
	asks := func(language string) map[string]string { return map[string]string{"Accept-Language": language} }
	brida.send(http.MethodGet, "/hive/1", nil, asks("en")).says(http.StatusServiceUnavailable, "Die Einträge sind gerade nicht erreichbar").inGerman()
	ansel.send(http.MethodGet, "/hive/1", nil, asks("de")).isOutage()
	leaving.send(http.MethodGet, "/sign-in/abc", nil, asks("en")).isOutage()
	forged := c.stranger()
	forged.send(http.MethodGet, "/sign-in/abc", nil, map[string]string{"Accept-Language": "en", "Cookie": spokenCookie + "=xx"}).isOutage()
	forged.send(http.MethodGet, "/sign-in/abc", nil, map[string]string{"Accept-Language": "en", "Cookie": spokenCookie + "=de"}).says(http.StatusServiceUnavailable, "Die Einträge")
}

// What was typed stays on the page; sent again, and once more, it is there once.
func TestFormOutlivesAnOutage(t *testing.T) {
	t.Parallel()
	c, wire := wired(t)
	h, box := c.boxNamed("Q13")
	path := "/hive/" + itoa(h.ID) + "/record"
	form := fields("hive", itoa(h.ID), "on", today.String(), "base", uuid.NewString(), fieldsOf(box.ID)+"joint", "2", fieldsOf(box.ID)+"note", "Zäh & \"fest\" <wieder>\nzwei")
	b := c.as("Brida")
	wire.Cut()
	page := b.post(path, form).isOutage().holds(`action="`+path+`"`).says(503, "Send again")
	again := page.carried()
	if again.Encode() != form.Encode() {
		t.Fatalf("the page carries %v", again)
	}
	if got := b.post(path, again).isOutage().carried(); got.Encode() != form.Encode() {
		t.Errorf("the second page carries %v", got)
	}
	files := b.postFiles(path, form, []chosenFile{{fieldsOf(box.ID) + "photo", "a.jpg", []byte("picture")}}).isOutage().says(503, "Photos and files do not stay")
	typed := files.carried()
	typed.Del("b1-photo") // left empty: without a file it is a field
	if typed.Encode() != form.Encode() {
		t.Errorf("beside a photo the page carries %v", typed)
	}
	b.post("/sign-out", fields("passphrase", "hush", "kept", "yes")).isOutage().hides("hush").holds(`value="yes"`)
	b.post(path, fields("note", strings.Repeat("long ", maxForm))).isOutage().says(503, "too much to stay on this page").hides("Send again")
	wire.Mend()
	c.back()
	for range 2 {
		b.post(path, again).says(http.StatusSeeOther)
	}
	if _, box = c.boxNamed("Q13"); len(box.OpeningsOn(today)) != 1 {
		t.Errorf("%d openings", len(box.OpeningsOn(today)))
	}
}

// forgetful reads sessions and writes none.
type forgetful struct{ store.Sessions }

var errLost = &net.OpError{Op: "write", Net: "tcp", Err: io.ErrClosedPipe}

func (forgetful) Commit(string, []byte, time.Time) error { return errLost }

func (forgetful) CommitCtx(context.Context, string, []byte, time.Time) error { return errLost }

// What is saved looks saved, though the session that was to tell of it is lost.
func TestSavedIsSaidWithoutASession(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	h, box := c.boxNamed("Q13")
	path := "/hive/" + itoa(h.ID) + "/record"
	b := c.as("Brida")
	token, err := c.store.NewSignIn(context.Background(), c.person["Corin"], time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	kept := c.server.sessions.Store.(store.Sessions)
	c.server.sessions.Store = forgetful{kept}
	b.post(visitPath(v.UID)+"/take", fields("sequence", itoa(int64(v.Sequence)))).says(http.StatusOK, "Saved", "You go to Quarry")
	got := b.post(path, recordForm(box, uuid.NewString())).says(http.StatusOK, "Saved", "nothing to send again")
	got.holds(`href="` + path)
	if got.header.Get("Location") != "" {
		t.Error("it leads on all the same")
	}
	if _, box = c.boxNamed("Q13"); len(box.OpeningsOn(today)) != 1 {
		t.Errorf("%d openings", len(box.OpeningsOn(today)))
	}
	_, other := c.boxNamed("Q12")
	if got := b.send(http.MethodPost, path, recordForm(other, uuid.NewString()), map[string]string{"Prefer": "return=minimal"}); got.status != http.StatusCreated {
		t.Errorf("a script is told %d", got.status)
	}
	b.get("/?club=" + itoa(c.id)).says(http.StatusOK)
	// A session that begins is nothing unless it is written.
	c.stranger().post("/sign-in/"+token, nil).isOutage()
	c.server.sessions.Store = kept
}

// Recorded while the database is away, a form waits on the phone and goes out by
// itself; a page that could not be had comes by itself.
func TestPhoneOutlivesAnOutage(t *testing.T) {
	t.Parallel()
	c, wire := wired(t)
	h, box := c.boxNamed("Q13")
	b := c.open(t, browse(t), "Brida")
	b.goTo("/hive/" + itoa(h.ID) + "/record")
	b.tap("#box-" + itoa(box.ID) + " .degree:has(.j2)")
	wire.Cut()
	b.tap(".save-bar button")
	b.shows("1 record waits on this phone")
	b.goTo("/repairs")
	b.headed("The records cannot be reached just now")
	b.shows("This page tries again by itself.")
	if small := ask[string](b, tooSmall); small != "" {
		t.Errorf("too small for a thumb: %s", small)
	}
	b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector("main .acts").insertAdjacentHTML("afterend", "<i id=same></i>")`))
	wire.Mend()
	b.until(`!document.getElementById("same") && document.querySelector("h1").innerText == "Repairs and parts"`)
	testrun.Until(t, "the box is recorded", func() bool { _, box := c.boxNamed("Q13"); return box.OpeningOn(today) != nil })
	if _, box = c.boxNamed("Q13"); len(box.OpeningsOn(today)) != 1 {
		t.Errorf("%d openings", len(box.OpeningsOn(today)))
	}
	b.quietBut("503", "ERR_", "Failed to load resource")
}
