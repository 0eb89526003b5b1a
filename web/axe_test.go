//go:build axe

package web

import (
	"context"
	"fmt"
	"image/color"
	"os"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/google/uuid"

	"pryday/notify"
	"pryday/scheduler"
)

// axe is axe-core's script. It comes from npm, so this is not part of the usual
// tests: make soak fetches it and names its file in PRYDAY_AXE.
func axe(t *testing.T) string {
	t.Helper()
	script, err := os.ReadFile(os.Getenv("PRYDAY_AXE"))
	if err != nil {
		t.Fatalf("set PRYDAY_AXE to axe-core's axe.min.js: %v", err)
	}
	return string(script)
}

// judge runs axe-core's rules for WCAG 2.2 AA and its best practices on the page
// as it stands, light and dark, with every part of it open.
func (b *tab) judge(axe, what string) {
	b.t.Helper()
	ask[bool](b, `document.querySelectorAll("main details").forEach(d => d.open = true), true`)
	for _, scheme := range []string{"light", "dark"} {
		call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		b.do(chromedp.Evaluate[chromedp.Void](axe))
		found, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`
			axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then(r =>
				r.violations.map(v => v.id + ": " + v.nodes.map(n => n.html.slice(0, 120)).slice(0, 3).join(" ")).join("\n"))`, chromedp.EvalAwaitPromise))
		if err != nil {
			b.t.Fatal(err)
		}
		if found != "" {
			b.t.Errorf("%s, %s:\n%s", what, scheme, found)
		}
	}
}

func TestAxe(t *testing.T) {
	t.Parallel()
	script := axe(t)
	c := serveClub(t)
	v := c.visit("Quarry")
	h, q11 := c.boxNamed("Q11")
	_, box := c.boxNamed("O13")
	other, _ := c.boxNamed("O11")
	c.as("Ansel").postFiles("/hive/"+itoa(other.ID)+"/record", fields("hive", itoa(other.ID), "on", today.String(), "base", uuid.NewString(), fieldsOf(box.ID)+"joint", "2"),
		[]chosenFile{{fieldsOf(box.ID) + "photo", "a.jpg", picture(t, 200, 150, color.White)}}).says(303)
	table, checked := c.as("Ansel").paste(ownTable), c.as("Ansel").paste(ownTable)
	c.as("Ansel").post(table+"/columns", fields(ownColumns...)).says(303)
	c.as("Ansel").post(checked+"/columns", fields(ownColumns...)).says(303)
	c.as("Ansel").post(checked+"/questions", fields("order", "day-first", "degree:bombenfest", "4", "units", "mm", "lowest", "deep", "upper", "medium", "stack", "bottom-up", "scraped", "unsaid",
		"place:moor", "*new", "latitude:moor", "44.1", "longitude:moor", "-79.9", "elevation_m:moor", "300", "timezone:moor", "America/Toronto")).says(303)
	b := c.open(t, browse(t), "Ansel")
	hive, visit, apiary := "/hive/"+itoa(h.ID), visitPath(v.UID), fmt.Sprintf("/apiary/%d", v.ApiaryID)
	for _, path := range []string{
		"/", "/month", "/month?month=2026-01&person=" + everybody, "/year", "/day",
		visit, visit + "/record", visit + "/sheet", visit + "/desk",
		hive, hive + "/change", hive + "/record", hive + "/colony", hive + "/colony/split", hive + "/colony/died", "/hive/" + itoa(other.ID),
		boxPath(q11.ID), photoPath(c.photosOf(box.ID)[0].ID), "/repairs", findPath("q"), "/find",
		"/apiaries", "/apiaries/new", apiary, apiary + "/season", apiary + "/hives", apiary + "/marks", "/boxes/marks", "/map", "/places/source",
		"/rules", "/rules/limit", "/rules/history", "/fit",
		"/links", "/members", "/members/" + itoa(c.member["Brida"]), "/messages", "/audit",
		"/records", "/bring-in", table + "/columns", table + "/questions", checked + "/check",
		"/preferences", "/preferences/address", "/preferences/erase", "/sign-in", "/sign-ins", "/invitations",
		"/guide", "/guide/dates", "/guide/grades", "/guide/gaps", "/guide/calendars", "/guide/mails", "/guide/unknown", "/guide/care",
		"/nothing-here", "/no-signal",
		c.act(notify.RainedOffDeed, "Brida", v), c.act(notify.CantGoDeed, "Brida", v), c.act(notify.OpenedDeed, "Brida", v), c.act(notify.RecordDeed, "Brida", v),
	} {
		b.goTo(path)
		b.judge(script, path)
	}
}

// TestAxeOfTheRecordForm goes through the states that a record form comes to.
func TestAxeOfTheRecordForm(t *testing.T) {
	t.Parallel()
	script, browser := axe(t), browse(t)
	for name, reach := range map[string]func(*testing.T, context.Context) *tab{
		"nothing said": func(t *testing.T, browser context.Context) *tab {
			b, _ := openForm(t, browser, "Q13", "")
			b.tap(".save-bar button")
			b.shows("Nothing is chosen")
			return b
		},
		"refused": func(t *testing.T, browser context.Context) *tab {
			b, _ := openForm(t, browser, "Q11", ".degree:has(.j4)")
			b.tap(".save-bar button")
			b.shows("Not saved yet.")
			return b
		},
		"stuck": func(t *testing.T, browser context.Context) *tab {
			b, _ := openForm(t, browser, "Q13", ".degree:has(.j4)")
			b.tap(".save-bar button")
			b.shows("Saved. Next to be opened by")
			return b
		},
		"left shut": func(t *testing.T, browser context.Context) *tab {
			b, _ := openForm(t, browser, "Q13", ".degree:has(.js)")
			b.shows("No shame in that")
			b.judge(script, "left shut, chosen")
			b.tap(".save-bar button")
			b.shows("Saved. Next to be opened by")
			return b
		},
		"waiting": func(t *testing.T, browser context.Context) *tab {
			b, box := openForm(t, browser, "Q13", ".degree:has(.j1)")
			b.c.line.noSignal.Store(true)
			b.choose(box, 1, photoFile(t, "a.jpg", picture(t, 120, 90, color.White)))
			b.judge(script, "a photo chosen")
			b.tap(".save-bar button")
			b.shows("1 record waits on this phone to be sent")
			return b
		},
		"photos": func(t *testing.T, browser context.Context) *tab {
			b, box := openForm(t, browser, "Q13", ".degree:has(.j2)")
			b.choose(box, 1, photoFile(t, "a.jpg", picture(t, 120, 90, color.White)))
			b.tap(".save-bar button")
			b.until(`document.querySelector(".saved .photos img")?.naturalWidth > 0`)
			return b
		},
	} {
		t.Run(name, func(t *testing.T) { reach(t, browser).judge(script, name) })
	}
}

// openForm opens the form of a box's hive in a club of its own, and taps an answer.
func openForm(t *testing.T, browser context.Context, name, answer string) (*tab, *scheduler.Box) {
	c := serveClub(t)
	h, box := c.boxNamed(name)
	b := c.open(t, browser, "Brida")
	b.goTo("/hive/" + itoa(h.ID) + "/record")
	if answer != "" {
		b.tap(fmt.Sprintf("#box-%d %s", box.ID, answer))
	}
	return b, box
}

// TestAxeOfWhatComesBack judges pages that only a form leads to, and those of an outage.
func TestAxeOfWhatComesBack(t *testing.T) {
	t.Parallel()
	script := axe(t)
	c, wire := wired(t)
	h, box := c.boxNamed("Q11")
	_, other := c.boxNamed("Q12")
	b := c.open(t, browse(t), "Ansel")
	b.goTo(settingsPath(h.ID))
	ask[bool](b, `(() => { const f = document.querySelector("#box-`+itoa(box.ID)+`"); f.to.value = "retired"; f.requestSubmit(); return true })()`)
	b.shows("for good?")
	b.judge(script, "the question")
	b.goTo("/apiary/" + itoa(c.club().ApiaryNamed("Quarry").ID) + "/marks")
	ask[bool](b, `(() => { const i = document.querySelector("#m`+itoa(box.ID)+`"); i.value = "`+other.Name+`"; i.form.requestSubmit(); return true })()`)
	b.shows("Nothing is saved yet")
	b.judge(script, "marks that are refused")
	b.goTo("/hive/" + itoa(h.ID) + "/record")
	wire.Cut()
	b.goTo("/repairs")
	b.headed("The records cannot be reached just now")
	b.judge(script, "an outage")
}
