package web

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// write taps a field and types into it, in place of what stood there. On a
// busy machine a tap can come while the page still moves: then it is repeated.
func (b *tab) write(selector, text string) {
	b.t.Helper()
	field := fmt.Sprintf("document.querySelector(%q)", selector)
	for range 10 {
		b.tap(selector)
		if ask[bool](b, field+" === document.activeElement") {
			ask[bool](b, field+".select(), true") // a tap puts the caret anywhere
			b.do(chromedp.KeyEvent("\b" + text))
		}
		if ask[string](b, field+".value") == text {
			return
		}
	}
	b.t.Fatalf("%q cannot be typed into %s", text, selector)
}

// firstRun goes from the printed address to a calendar with the first visit.
func firstRun(t *testing.T, browser context.Context, script bool) {
	c, setup := serveNobody(t)
	b := c.open(t, browser, "")
	if !script {
		call(b, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	}
	b.goTo(setup)
	for field, text := range map[string]string{
		"club": "Larch Lane Bees", "your_name": "Gwen Ashdown", "email": "gwen@example.org", "name": "Orchard",
		"hives": "3", "place": "Guelph",
	} {
		b.write(".setup input[name="+field+"]", text)
	}
	if !script { // with one the places come while one types
		b.tap(".setup [name=look]")
	}
	b.shows("Guelph, Ontario, Canada")
	b.tap(".candidates [name=pick]")
	b.shows("Filled in: coordinates, height and time zone of Guelph, Ontario, Canada.")
	for field, want := range map[string]string{"latitude": "43.546", "longitude": "-80.256", "elevation_m": "335", "timezone": "America/Toronto", "your_name": "Gwen Ashdown", "hives": "3"} {
		if got := ask[string](b, fmt.Sprintf("document.querySelector(\".setup input[name=%s]\").value", field)); got != want {
			t.Errorf("with script %t %s is %q", script, field, got)
		}
	}
	if over := ask[int](b, "document.documentElement.scrollWidth - innerWidth"); over > 0 {
		t.Errorf("the page is %d px too wide", over)
	}
	b.tap(".setup [name=elevation_m]")
	b.do(chromedp.KeyEvent("\r"))
	b.headed("Visits in your calendar")
	b.shows("Larch Lane Bees is here, and you are signed in.")
	b.tap(`form[action="/links"] button`)
	b.until(`document.querySelector("svg.qr") !== null`)
	page := ask[string](b, `document.querySelector("input.address").value`)
	at := strings.Index(page, "/calendar/")
	if at < 0 {
		t.Fatalf("no calendar address: %s", page)
	}
	path, _, _ := strings.Cut(page[at:], ".ics")
	if feed := c.stranger().get(path + ".ics"); !strings.Contains(feed.body, "BEGIN:VEVENT") || !strings.Contains(feed.body, "LOCATION:Orchard") {
		t.Errorf("the calendar has no visit: %d %.400s", feed.status, feed.body)
	}
	b.quiet()
}

func ruleChangedAndRestored(t *testing.T, browser context.Context) {
	c := serveClub(t)
	b := c.open(t, browser, "Ansel")
	b.goTo("/rules")
	b.write("#r-odds_limit", "0.1")
	b.tap("form.rules .kept-acts button:not([formaction])")
	b.headed("What these rules would change")
	b.shows("Nothing is saved yet")
	if got := c.rules(); got.Version != 2 {
		t.Fatalf("the preview saved version %d", got.Version)
	}
	b.write("input[name=note]", "less prying")
	b.tap(`form[action="/rules"] .acts button`)
	b.shows("Saved: version 3 holds now")
	if got := c.rules(); got.Rules.OddsLimit != 0.1 || got.Note != "less prying" {
		t.Errorf("saved: limit %v, note %q", got.Rules.OddsLimit, got.Note)
	}
	b.tap(".notice button")
	b.shows("Saved: version 4 holds now")
	if got := c.rules(); got.Rules.OddsLimit != 0.2 {
		t.Errorf("restored: limit %v", got.Rules.OddsLimit)
	}
	b.quiet()
}

// linkWithKeyboard makes a calendar address without touching anything.
func linkWithKeyboard(t *testing.T, browser context.Context) {
	c := serveClub(t)
	b := c.open(t, browser, "Brida")
	b.goTo("/links")
	b.do(chromedp.KeyEvent("\t\r")) // to the content
	for i := 0; ; i++ {
		b.do(chromedp.KeyEvent("\t"))
		if ask[string](b, `document.activeElement.name || ""`) == "label" {
			break
		}
		if i == 10 {
			t.Fatal("no way to the name of the device with the tab key")
		}
	}
	b.do(chromedp.KeyEvent("my phone\r"))
	b.shows("The new address for my phone")
	if links := c.links("Brida"); len(links) != 1 || links[0].Label != "my phone" {
		t.Errorf("addresses: %+v", links)
	}
}

// weight is what the page loaded, in bytes. A file may stand there twice: the
// worker can take over the page while it loads.
const weight = `[...new Map(performance.getEntries().map(e => [e.name, e.encodedBodySize || 0])).values()].reduce((n, size) => n + size, 0)`

// clubPagesOnAPhone looks at each page as everyPageOnAPhone does.
func clubPagesOnAPhone(t *testing.T, browser context.Context) {
	c := serveClub(t)
	b := c.open(t, browser, "Ansel")
	ansel := c.as("Ansel")
	ansel.post("/rules", ruleFormOf(c.rules().Rules, "2", "odds_limit", "0.15"))
	ansel.post("/links", fields("label", strings.Repeat("long", 20), "kind", "club"))
	apiary := "/apiary/" + itoa(c.club().Apiaries[1].ID)
	for _, path := range []string{
		"/rules", "/rules/history", "/members", "/members/" + itoa(c.member["Brida"]), "/links", "/messages", "/records", "/bring-in", "/audit",
		apiary + "/season", apiary + "/hives",
	} {
		b.goTo(path)
		ask[bool](b, `document.querySelectorAll("main details").forEach(d => d.open = true), true`)
		if bad := ask[string](b, tooWide); bad != "" {
			t.Errorf("%s is wider than the phone: %s", path, bad)
		}
		if bad := ask[string](b, tooSmall); bad != "" {
			t.Errorf("%s: too small for a thumb: %s", path, bad)
		}
		if n := ask[int](b, weight); n > 100_000 {
			t.Errorf("%s weighs %d bytes, want at most 100 kB", path, n)
		}
		for _, scheme := range []string{"light", "dark"} {
			call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
			if bad := ask[string](b, lowContrast); bad != "" {
				t.Errorf("%s, %s: hard to read: %s", path, scheme, bad)
			}
		}
	}
	b.quiet()
}
