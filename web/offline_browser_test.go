package web

import (
	"context"
	"fmt"
	"image/color"
	"net/http"
	"strings"
	"sync/atomic"
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

// untilTrue waits for a promise of true, asked again and again: a page that
// loads anew meanwhile takes its answer with it.
func (b *tab) untilTrue(promise string) {
	b.t.Helper()
	testrun.Until(b.t, promise, func() bool {
		is, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](promise, chromedp.EvalAwaitPromise))
		return err == nil && is
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
	b.shows("The service cannot be reached. This page is as it was on")
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
	b.shows("Next hive: Sandpit hive 3") // not the first, as the service thinks
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

// What waits outlives the browser, and so do the pages.
func TestWithoutSignalTheBrowserIsClosed(t *testing.T) {
	t.Parallel()
	c, v := serveClub(t).stacks(1, 1)
	folder := chromedp.UserDataDir(t.TempDir())
	form := func(hive int) string {
		return fmt.Sprintf("%s/record?hive=%d", visitPath(v.UID), c.club().Apiaries[0].Hives[hive].ID)
	}
	first, second := form(0), form(1)

	browser, end := browseUntil(t, folder)
	b := c.openIn(t, browser, "Edda")
	b.kept(second)
	c.line.noSignal.Store(true)
	b.goTo(first)
	b.headed("Sandpit hive 1")
	b.tap("button[name=whole]")
	b.headed("Sandpit hive 2")
	end()

	browser, _ = browseUntil(t, folder)
	c.line.noSignal.Store(false)
	b = c.openIn(t, browser, "Edda") // signs in, and looks at nothing
	c.line.noSignal.Store(true)
	b.goTo(second)
	b.headed("Sandpit hive 2")
	b.shows("1 record waits on this phone")
	b.tap("button[name=whole]")
	b.shows("2 records wait on this phone")
	c.line.noSignal.Store(false)
	b.goTo("/")
	testrun.Until(t, "both are recorded", func() bool { return c.recorded() == 2 })
}

// turnTo goes to a page from one that may itself be on its way elsewhere.
func (b *tab) turnTo(path string) {
	b.t.Helper()
	testrun.Until(b.t, "the page comes", func() bool {
		err := chromedp.Do(b.ctx, chromedp.Navigate(b.c.http.URL+path))
		if err != nil && !strings.Contains(err.Error(), "ERR_ABORTED") {
			b.t.Fatal(err)
		}
		return err == nil
	})
}

// untilNothingWaits sends what waits until all of it went, and says of what did not
// how it stands.
func (b *tab) untilNothingWaits() {
	b.t.Helper()
	left := ""
	b.t.Cleanup(func() {
		if b.t.Failed() {
			b.t.Logf("waiting when last looked at: %s", left)
		}
	})
	testrun.Until(b.t, "nothing waits", func() bool {
		is, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`sendWaiting().then(async () => [...await waiting.all(), ...await photoQueue.all()]
			.map((item) => item.state + " " + item.name + " " + item.why).join("; "))`, chromedp.EvalAwaitPromise))
		if err == nil {
			left = is
		}
		return err == nil && is == ""
	})
}

// TestTheLineBreaksWhileRecordsAreSent: before they and their photos arrived, or
// before the answer did: each is kept once.
func TestTheLineBreaksWhileRecordsAreSent(t *testing.T) {
	t.Parallel()
	rounds := 1 // of a dozen breaks
	if testrun.Soak() {
		rounds = 50
	}
	lots, browser := testrun.Rand(t), browse(t)
	shot := photoFile(t, "a.jpg", picture(t, 160, 120, color.White))
	for range rounds {
		c, v := serveClub(t).stacks(1, 2, 1)
		b := c.open(t, browser, "Edda")
		var breaks []lineBreak
		for range 12 {
			breaks = append(breaks, lineBreak(lots.IntN(3)))
		}
		var n atomic.Int64
		b.goTo("/") // the form itself needs a signal: this browser keeps no page yet
		lossy := func(r *http.Request) lineBreak {
			if i := n.Add(1) - 1; r.Method == http.MethodPost && i < int64(len(breaks)) {
				return breaks[i]
			}
			return unbroken
		}
		for hive, h := range c.club().Apiaries[0].Hives {
			b.turnTo(fmt.Sprintf("%s/record?hive=%d", visitPath(v.UID), h.ID))
			b.headed(fmt.Sprintf("Sandpit hive %d", hive+1))
			if hive == 0 {
				c.line.breaks.Store(&lossy)
			}
			b.untilTrue(`new Promise((done) => { touched = true; setTimeout(() => done(true), 50); })`) // and no page loads itself anew under a finger
			b.choose(&h.Boxes[0], 1, shot)
			b.tap("button[name=whole]")
			testrun.Until(t, "it was sent or waits", func() bool {
				waits, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](`document.getElementById("waiting") !== null`))
				return c.recordedOf(h.ID) > 0 || err == nil && waits
			})
		}
		testrun.Until(t, "all are recorded", func() bool {
			b.until(`typeof flush == "function" && (flush(), true)`)
			return c.recorded() == 4
		})
		b.untilNothingWaits()
		for _, h := range c.club().Apiaries[0].Hives {
			for _, box := range h.Boxes {
				if len(box.Openings) != 2 {
					t.Errorf("%s has %d openings, want 2", box.Name, len(box.Openings))
				}
			}
			if photos := c.photosOf(h.Boxes[0].ID); len(photos) != 1 {
				t.Errorf("%s has %d photos, want 1", h.Boxes[0].Name, len(photos))
			}
		}
	}
}

// A line over which nothing comes back is given up on, so that it does not keep other
// pages from sending.
func recordOverALineThatHangs(t *testing.T, browser context.Context) {
	c, v := serveClub(t).stacks(1, 1)
	b := c.open(t, browser, "Edda")
	form := func(hive int) string {
		return fmt.Sprintf("%s/record?hive=%d", visitPath(v.UID), c.club().Apiaries[0].Hives[hive].ID)
	}
	b.kept(form(1))
	c.line.noSignal.Store(true)
	b.goTo(form(0))
	b.headed("Sandpit hive 1")
	b.tap("button[name=whole]")
	b.headed("Sandpit hive 2")
	b.shows("1 record waits on this phone")
	hangs := func(r *http.Request) lineBreak {
		if r.Method == http.MethodPost {
			return hanging
		}
		return unbroken
	}
	c.line.breaks.Store(&hangs)
	c.line.noSignal.Store(false)
	b.untilTrue(`(sendPatience = 100, sendWaiting()).then((taken) => taken == 0)`)
	c.line.breaks.Store(nil)
	b.untilNothingWaits()
	if n := c.recorded(); n != 1 {
		t.Errorf("%d boxes are recorded, want 1", n)
	}
}

// Signing out leaves nothing of the club on the phone.
func signOutOfAPhone(t *testing.T, browser context.Context) {
	c := serveClub(t)
	b := c.open(t, browser, "Brida")
	b.kept("/")
	b.tap(".menu summary")
	b.tap(".menu form button")
	b.headed("Sign in")
	b.untilTrue(`caches.open("pryday-pages").then((kept) => kept.keys()).then((all) => all.every((r) => r.url.endsWith("/no-signal")))`)
	c.line.noSignal.Store(true)
	b.goTo("/")
	b.headed("No signal")
}
