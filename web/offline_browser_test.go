package web

import (
	"context"
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"

	"pryday/scheduler"
	"pryday/testdata/testrun"
)

// kept waits until the phone has what it needs without a signal.
func (b *tab) kept(path string) {
	b.t.Helper()
	b.goTo("/")
	b.untilTrue(fmt.Sprintf(`(async () => !!navigator.serviceWorker.controller && !!await (await caches.open("pryday-pages")).match(%q, {ignoreVary: true}))()`, path))
}

// untilTrue waits for a promise of true, asked again and again.
func (b *tab) untilTrue(promise string) {
	b.t.Helper()
	testrun.Until(b.t, promise, func() bool {
		ask[bool](b, fmt.Sprintf(`(window.asked = null, %s.then((v) => { window.asked = v }), true)`, promise))
		b.until("window.asked !== null")
		return ask[bool](b, "window.asked")
	})
}

// A whole visit of four hives without a signal: the pages come from the phone,
// also after the browser was closed, and everything arrives once.
func recordVisitWithoutSignal(t *testing.T, browser context.Context) {
	c, v := serveClub(t).stacks(2, 2, 2, 1)
	b := c.open(t, browser, "Edda")
	last := c.club().Apiaries[0].Hives[3]
	b.kept(fmt.Sprintf("%s/record?hive=%d", visitPath(v.UID), last.ID))

	c.line.noSignal.Store(true)
	b.goTo("/")
	b.shows("There is no signal. This page is as it was on")
	b.tap(fmt.Sprintf("main a[href='%s']", visitPath(v.UID)))
	b.headed("Sandpit")
	b.tap(fmt.Sprintf("main .acts a[href='%s/record']", visitPath(v.UID)))
	b.headed("Sandpit hive 1")
	b.do(chromedp.Reload())
	b.headed("Sandpit hive 1")
	b.tap("button[name=whole]")
	b.headed("Sandpit hive 2")
	b.shows("1 record waits on this phone")
	b.shows("S12: light")
	_, s22 := c.boxNamed("S22")
	b.tap(fmt.Sprintf("#box-%d .degree:has(.j3)", s22.ID))
	b.tap(".save-bar button")
	b.headed("Sandpit hive 3")
	b.tap("button[name=whole]")
	b.headed("Sandpit hive 4")
	b.tap("button[name=whole]")
	b.shows("4 records wait on this phone")
	if n := c.recorded(); n != 0 {
		t.Fatalf("%d boxes were recorded without a signal", n)
	}

	// What waits comes back into its form, and may be changed.
	b.tap(`#waiting li:nth-child(2) a.button`)
	b.headed("Sandpit hive 2")
	b.until(fmt.Sprintf(`document.querySelector("#box-%d .j3").checked`, s22.ID))
	b.tap(fmt.Sprintf("#box-%d .degree:has(.j2)", s22.ID))
	b.tap(".save-bar button")
	b.shows("S22: firm")
	b.shows("4 records wait on this phone")

	// A page that is not on the phone says so.
	b.goTo("/rules")
	b.headed("No signal")

	c.line.noSignal.Store(false)
	b.goTo("/")
	testrun.Until(t, "six boxes are recorded", func() bool { return c.recorded() == 6 }) // S21 was not tried
	b.until(`!document.getElementById("waiting")`)
	for _, h := range c.club().Apiaries[0].Hives {
		for _, box := range h.Boxes {
			if o := box.OpeningOn(today); len(box.Openings) > 2 || (o == nil) != (box.Name == "S21") {
				t.Errorf("%s has %d openings", box.Name, len(box.Openings))
			} else if o != nil && o.Joint != map[bool]scheduler.Difficulty{true: scheduler.Firm, false: scheduler.Light}[box.Name == "S22"] {
				t.Errorf("%s: %d", box.Name, o.Joint)
			}
		}
	}
	b.quietBut("ERR_EMPTY_RESPONSE", "ERR_FAILED", "Failed to load resource")
}
