package web

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/cdproto/webauthn"
	"github.com/chromedp/chromedp"

	"pryday/notify"
	"pryday/scheduler"
)

// tab is one tab of a real browser, with cookies of its own.
type tab struct {
	c   *testClub
	t   testing.TB
	ctx context.Context
	mu  sync.Mutex
	// complaints are what the browser logs: blocked styles, errors in scripts.
	complaints []string
	taps       int // of a finger
}

// browse gives the browser that tests share, or, with options, starts one; a
// missing one fails the test. What tabs keep is apart by their contexts.
func browse(t testing.TB, more ...chromedp.ExecAllocatorOption) context.Context {
	t.Helper()
	if len(more) > 0 {
		browser, _ := browseUntil(t, more...)
		return browser
	}
	browser, err := sharedBrowser()
	if err != nil {
		t.Fatalf("tests need a Chromium: %v", err)
	}
	return browser
}

// browseUntil starts a browser of the test's own, with a way to end it before
// the test.
func browseUntil(t testing.TB, more ...chromedp.ExecAllocatorOption) (browser context.Context, end func()) {
	t.Helper()
	browser, stop, err := startBrowser(more...)
	t.Cleanup(stop)
	if err != nil {
		t.Fatalf("tests need a Chromium: %v", err)
	}
	return browser, func() {
		if err := chromedp.Cancel(browser); err != nil { // it may still write
			t.Errorf("end the browser: %v", err)
		}
	}
}

// wholeBrowser is the browser that people have, for what the one without windows
// cannot do.
func wholeBrowser(t testing.TB) chromedp.ExecAllocatorOption {
	t.Helper()
	names := []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome", "/Applications/Chromium.app/Contents/MacOS/Chromium"}
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return chromedp.ExecPath(path)
		}
	}
	t.Fatalf("this test needs a whole Chromium, which is none of %q", names)
	return nil
}

// sharedBrowser is started for the first test that asks for it, and ended after
// the last.
var (
	sharedBrowser = sync.OnceValues(func() (browser context.Context, err error) {
		browser, endSharedBrowser, err = startBrowser()
		return browser, err
	})
	endSharedBrowser = func() {}
)

func startBrowser(more ...chromedp.ExecAllocatorOption) (browser context.Context, stop func(), err error) {
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.DisableGPU,
		// A process made ready for a page that no test opens costs as much as one that is used.
		chromedp.Flag("disable-features", "Translate,BlinkGenPropertyTrees,SpareRendererForSitePerProcess"))
	if shell, err := exec.LookPath("chromium-headless-shell"); err == nil {
		options = append(options, chromedp.ExecPath(shell)) // a third of the work of the whole browser, which draws windows that nobody sees
	}
	options = append(options, more...)
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox)
	}
	ctx, stopAllocator := chromedp.NewExecAllocator(context.Background(), options...)
	browser, cancel := chromedp.NewContext(ctx)
	return browser, func() { cancel(); stopAllocator() }, chromedp.Do(browser)
}

// open opens a tab of a phone, signed in as somebody or, for "", as nobody.
func (c *testClub) open(t testing.TB, browser context.Context, name string) *tab {
	t.Helper()
	return c.openIn(t, browser, name, chromedp.WithNewBrowserContext())
}

// openIn is open with what makes the tab: without anything the tab keeps what
// it stores in the browser's own folder.
func (c *testClub) openIn(t testing.TB, browser context.Context, name string, how ...chromedp.ContextOption) *tab {
	t.Helper()
	browser, giveUp := context.WithTimeout(browser, 4*time.Minute)
	t.Cleanup(giveUp)
	ctx, cancel := chromedp.NewContext(browser, how...)
	t.Cleanup(cancel)
	b := &tab{c: c, t: t, ctx: ctx}
	// The tab lives as long as the first context that it is used with.
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(360, 740)); err != nil {
		t.Fatal(err)
	}
	// Of several tabs a browser gives one the keys; each believes that it is that one.
	call(b, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})
	err := chromedp.Listen(ctx, func(ev any) {
		b.mu.Lock()
		defer b.mu.Unlock()
		switch ev := ev.(type) {
		case *log.EventEntryAdded:
			if ev.Entry.Level == log.EntryLevelError || strings.Contains(ev.Entry.Text, "Content Security Policy") {
				b.complaints = append(b.complaints, ev.Entry.Text+" "+ev.Entry.URL)
			}
		case *runtime.EventExceptionThrown:
			b.complaints = append(b.complaints, ev.ExceptionDetails.Text)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if name != "" {
		var session string
		for _, k := range c.as(name).client.Jar.Cookies(mustURL(t, c.http.URL)) {
			if k.Name == "pryday" {
				session = k.Value
			}
		}
		call(b, network.SetCookie, network.SetCookieParams{Name: "pryday", Value: session, URL: c.http.URL})
	}
	return b
}

func call[P, R any](b *tab, command cdp.Command[P, R], params P) {
	b.t.Helper()
	b.do(func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, command, params)
		return chromedp.Void{}, err
	})
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, time.Minute)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		text, _ := chromedp.Run(b.ctx, chromedp.Evaluate[string](`document.body.innerText.slice(0, 800)`))
		b.t.Fatalf("%v; the page says: %s", err, text)
	}
}

// goTo opens an address. A page that has just sent what waited loads itself anew,
// which breaks off whatever is on its way: then it is opened once more.
func (b *tab) goTo(path string) {
	b.t.Helper()
	to := chromedp.Navigate(b.c.http.URL + path)
	if _, err := chromedp.Run(b.ctx, to); err != nil && strings.Contains(err.Error(), "net::ERR_ABORTED") {
		b.do(to)
	} else if err != nil {
		b.t.Fatalf("%s: %v", path, err)
	}
}

// ask evaluates an expression in the page.
func ask[T any](b *tab, expression string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		b.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// tap taps the middle of an element with a finger, after bringing it to the
// middle of the screen, where no bar lies over it.
func (b *tab) tap(selector string) {
	b.t.Helper()
	b.do(chromedp.WaitVisible(chromedp.CSS(selector), chromedp.RetryInterval(20*time.Millisecond)))
	ask[bool](b, fmt.Sprintf(`document.querySelector(%q).scrollIntoView({block: "center"}), true`, selector))
	b.do(chromedp.Tap(chromedp.CSS(selector)))
	b.taps++
}

// sendNow presses the button that sends what waits on the phone, unless the page,
// which tries again by itself, was quicker.
func (b *tab) sendNow() {
	b.t.Helper()
	ask[bool](b, `document.querySelector("#waiting > button")?.click(), true`)
	b.taps++
}

// headed waits for a page of a heading.
func (b *tab) headed(text string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`document.querySelector("h1").innerText == %q`, text))
}

// shows waits for a text on the page.
func (b *tab) shows(text string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`document.body.innerText.includes(%q)`, text))
}

// until waits for an expression to hold on a loaded page.
func (b *tab) until(expression string) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, time.Minute)
	defer cancel()
	for {
		// Asked from here: a page whose scripts are off runs no timer either, and one
		// that goes away while it is looked at is an error.
		is, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`document.readyState == "complete" && !!(`+expression+`)`))
		if err == nil && is {
			return
		}
		select {
		case <-ctx.Done():
			got, _ := chromedp.Run(b.ctx, chromedp.Evaluate[string](`document.body.innerText.slice(0, 1200)`))
			b.t.Fatalf("it does not come to %s (%v): %s", expression, err, got)
		case <-time.After(20 * time.Millisecond):
		}
	}
}

// quiet fails on what the browser complained about.
func (b *tab) quiet() {
	b.t.Helper()
	b.quietBut()
}

// quietBut fails on what the browser complained about, but for complaints that
// hold one of some words.
func (b *tab) quietBut(words ...string) {
	b.t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, c := range b.complaints {
		if !slices.ContainsFunc(words, func(w string) bool { return strings.Contains(c, w) }) {
			b.t.Errorf("the browser complains: %s", c)
		}
	}
}

// tooSmall lists controls that a thumb misses: lower or narrower than 44 CSS
// pixels, the size of WCAG 2.2's criterion 2.5.5. Links in running text are
// excepted there.
const tooSmall = `[...document.querySelectorAll("main button, main .button, main .pick, main summary, main select, main input:not([type=hidden]):not([type=radio]):not([type=checkbox]), main textarea")]
	.filter(e => e.checkVisibility()).filter(e => { const r = e.getBoundingClientRect(); return r.height < 43.5 || r.width < 43.5 })
	.map(e => e.tagName + " " + (e.textContent || e.name || e.outerHTML).trim().slice(0, 40) + " " + Math.round(e.getBoundingClientRect().height)).join("; ")`

// spills lists the words that do not fit their button.
const spills = `[...document.querySelectorAll("main button, main .button, main .pick, main .degree")].filter(e => e.checkVisibility()).filter(e => [...e.querySelectorAll("*"), e].some(x => x.scrollWidth > Math.ceil(e.getBoundingClientRect().width)))
	.map(e => e.textContent.trim().slice(0, 40)).join("; ")`

const tooWide = `document.documentElement.scrollWidth > innerWidth ? [...document.querySelectorAll("main *")].filter(e => e.getBoundingClientRect().right > innerWidth + 1).map(e => e.tagName + "." + e.className).slice(0, 5).join("; ") || "the page" : ""`

func TestInABrowser(t *testing.T) {
	t.Parallel()
	browser := browse(t)
	t.Run("record a visit with one thumb", func(t *testing.T) { recordWithOneThumb(t, browser) })
	t.Run("record twelve boxes in a few taps", func(t *testing.T) { recordInFewTaps(t, browser) })
	t.Run("record trouble in a few taps", func(t *testing.T) { recordTroubleInFewTaps(t, browser) })
	t.Run("write down a sheet by keys", func(t *testing.T) { writeDownByKeys(t, browser) })
	t.Run("print a sheet on two pages", func(t *testing.T) { sheetOnTwoPages(t, browser) })
	t.Run("record without a script", func(t *testing.T) { recordWithoutScript(t, browser) })
	t.Run("record without a signal", func(t *testing.T) { recordWithoutSignal(t, browser) })
	t.Run("tick the checklist without a signal", func(t *testing.T) { tickWithoutSignal(t, browser) })
	t.Run("record a visit without a signal", func(t *testing.T) { recordVisitWithoutSignal(t, browser) })
	t.Run("record over a line that hangs", func(t *testing.T) { recordOverALineThatHangs(t, browser) })
	t.Run("sign out of a phone", func(t *testing.T) { signOutOfAPhone(t, browser) })
	t.Run("a line so slow that one presses again", func(t *testing.T) { pressAgainOnASlowLine(t, browser) })
	t.Run("take a visit with the keyboard", func(t *testing.T) { takeWithKeyboard(t, browser) })
	t.Run("what is next in one tap", func(t *testing.T) { nextFromHome(t, browser) })
	t.Run("find a box by its mark", func(t *testing.T) { findABox(t, browser) })
	t.Run("the year moves with the rules", func(t *testing.T) { moveTheYear(t, browser) })
	t.Run("from home to the month to a visit", func(t *testing.T) { monthFromHome(t, browser) })
	t.Run("sign in with a passkey", func(t *testing.T) { signInWithPasskey(t, browser) })
	t.Run("every page on a phone", func(t *testing.T) { everyPageOnAPhone(t, browser) })
	t.Run("first run to subscribed calendar", func(t *testing.T) { firstRun(t, browser, true) })
	t.Run("first run without a script", func(t *testing.T) { firstRun(t, browser, false) })
	t.Run("a rule previewed, saved, restored", func(t *testing.T) { ruleChangedAndRestored(t, browser) })
	t.Run("an address made with the keyboard", func(t *testing.T) { linkWithKeyboard(t, browser) })
	t.Run("colonies that died, were split and united, on a phone", func(t *testing.T) { coloniesOnAPhone(t, browser) })
	t.Run("a spreadsheet brought in on a phone", func(t *testing.T) { bringInOnAPhone(t, browser) })
	t.Run("long names and large text", func(t *testing.T) { longNamesAndLargeText(t, browser) })
	t.Run("every page of a club on a phone", func(t *testing.T) { clubPagesOnAPhone(t, browser) })
}

// recordWithOneThumb follows the address in a mail and records the top box of
// the first hive, then the whole second hive.
func recordWithOneThumb(t *testing.T, browser context.Context) {
	c := serveClub(t)
	v := c.visit("Quarry")
	b := c.open(t, browser, "")
	b.goTo(c.act(notify.RecordDeed, "Brida", v))
	b.shows("Is the stack as drawn?")
	if bad := ask[string](b, tooSmall); bad != "" {
		t.Errorf("too small for a thumb: %s", bad)
	}
	if bad := ask[string](b, tooWide); bad != "" {
		t.Errorf("wider than the phone: %s", bad)
	}
	_, box := c.boxNamed("Q13")
	row := fmt.Sprintf("#box-%d ", box.ID)
	b.tap(row + ".degree:has(.j2)")
	b.shows("two to four corners")
	b.tap(row + "details.more > summary")
	b.tap(row + "input[name$=frames][value='1']")
	b.tap(row + "input[name$=scraped][value=all]")
	b.tap(".save-bar button")
	b.shows("Saved. Next to be opened by")
	_, box = c.boxNamed("Q13")
	o := box.OpeningOn(today)
	if o == nil || o.Joint != scheduler.Firm || o.Frames != scheduler.Light || o.Scraped != scheduler.ScrapedAll || o.By != c.member["Brida"] {
		t.Fatalf("recorded %+v", o)
	}
	b.tap("button[name=whole]")
	b.headed("Quarry hive 2") // by itself, since there is nothing left to do at the first
	b.shows("Quarry hive 1 is recorded.")
	b.tap("button[name=whole]")
	b.shows("All hives of this visit are recorded.")
	if got := c.visitByUID(v.UID); got.Status != scheduler.Done {
		t.Errorf("the visit is %s, want done", got.Status)
	}
	b.quiet()
}

func recordWithoutScript(t *testing.T, browser context.Context) {
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	b := c.open(t, browser, "Brida")
	call(b, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	b.goTo("/hive/" + itoa(h.ID) + "/record")
	b.tap("button[name=fill][value=loose]")
	row := fmt.Sprintf("#box-%d ", box.ID)
	b.do(chromedp.WaitVisible(chromedp.CSS(row + ".m0")))
	b.tap(row + ".degree:has(.j2)")
	b.tap(".save-bar button")
	b.do(chromedp.WaitVisible(chromedp.CSS(row + ".saved[role=status]")))
	_, box = c.boxNamed("Q13")
	if o := box.OpeningOn(today); o == nil || o.Joint != scheduler.Firm {
		t.Errorf("recorded %+v", o)
	}
	if _, box = c.boxNamed("Q12"); box.OpeningOn(today) == nil {
		t.Error("the boxes filled in at once were not recorded")
	}
}

func recordWithoutSignal(t *testing.T, browser context.Context) {
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	b := c.open(t, browser, "Brida")
	b.goTo("/hive/" + itoa(h.ID) + "/record")
	c.line.noSignal.Store(true)
	b.tap(".save-bar button")
	b.shows("Nothing is chosen: tap how each box came apart")
	b.tap(fmt.Sprintf("#box-%d .degree:has(.j1)", box.ID))
	for range 2 { // taps
		b.tap(".save-bar button")
		b.shows("1 record waits on this phone to be sent")
	}
	if _, box := c.boxNamed("Q13"); box.OpeningOn(today) != nil {
		t.Fatal("it was sent without a signal")
	}
	c.line.noSignal.Store(false)
	b.sendNow()
	b.shows("Joint light")
	if ask[bool](b, `document.getElementById("waiting") !== null`) {
		t.Error("the page still says that something is to be sent")
	}
	if _, box := c.boxNamed("Q13"); box.OpeningOn(today) == nil {
		t.Error("it was not sent once there was a signal")
	}
}

// takeWithKeyboard goes from the top of the page of what is due to the first
// "I'll go" with the tab key, and takes that visit.
func takeWithKeyboard(t *testing.T, browser context.Context) {
	c := serveClub(t)
	v := c.visit("Orchard")
	b := c.open(t, browser, "Corin")
	b.goTo("/")
	b.do(chromedp.KeyEvent("\t"))
	if got := ask[string](b, `document.activeElement.textContent`); got != "To the content" {
		t.Errorf("the first tab stop is %q, want the way to the content", got)
	}
	b.do(chromedp.KeyEvent("\r"))
	for i := 0; ; i++ {
		b.do(chromedp.KeyEvent("\t"))
		if ask[string](b, `document.activeElement.textContent`) == "I'll go" {
			break
		}
		if i == 8 {
			t.Fatal("no way to \"I'll go\" with the tab key")
		}
	}
	if w := ask[string](b, `getComputedStyle(document.activeElement).outlineWidth`); w == "0px" {
		t.Error("the focused button does not show that it is")
	}
	b.do(chromedp.KeyEvent("\r"))
	b.shows("You go to Orchard")
	if got := c.visitByUID(v.UID); len(got.Who) != 1 || got.Who[0] != c.member["Corin"] {
		t.Errorf("going: %v", got.Who)
	}
}

// signInWithPasskey makes a passkey in the browser's own authenticator, signs
// out, and signs in with it.
func signInWithPasskey(t *testing.T, browser context.Context) {
	c := serveClub(t)
	b := c.open(t, browser, "Brida")
	call(b, webauthn.Enable, webauthn.EnableParams{})
	call(b, webauthn.AddVirtualAuthenticator, webauthn.AddVirtualAuthenticatorParams{Options: &webauthn.VirtualAuthenticatorOptions{
		Protocol: webauthn.AuthenticatorProtocolCtap2, Transport: webauthn.AuthenticatorTransportInternal,
		HasResidentKey: true, HasUserVerification: true, IsUserVerified: true, AutomaticPresenceSimulation: true,
	}})
	b.goTo("/sign-ins")
	b.tap("[data-passkey=new]")
	b.shows("This device signs you in from now on.")
	c.as("Brida").post("/sign-out-everywhere", nil).says(http.StatusUnprocessableEntity, "Say whether your passkeys stay or end.")
	c.as("Brida").post("/sign-out-everywhere", fields("passkeys", "keep", "sure", "yes")).says(http.StatusSeeOther)
	b.goTo("/")
	b.headed("Sign in")
	b.tap("[data-passkey=sign-in]")
	b.headed("What is next")
	b.goTo("/sign-ins")
	b.tap("form[action='/passkeys/remove'] button")
	b.shows("Remove this passkey?")
	b.tap("form[action='/passkeys/remove'] button")
	b.shows("signs in no more")
	b.do(chromedp.Evaluate[chromedp.Void](`fetch("/sign-out", {method: "POST"})`, chromedp.EvalAwaitPromise))
	b.goTo("/sign-in")
	b.tap("[data-passkey=sign-in]")
	b.shows("That did not work")
}

// everyPageOnAPhone looks at each page in light and dark: nothing wider than
// the screen, nothing too small for a thumb, nothing that the page's own
// policy blocks.
func everyPageOnAPhone(t *testing.T, browser context.Context) {
	c := serveClub(t)
	v := c.visit("Quarry")
	h, box := c.boxNamed("Q11")
	b := c.open(t, browser, "Ansel")
	hive, visit, apiary := "/hive/"+itoa(h.ID), visitPath(v.UID), fmt.Sprintf("/apiary/%d", v.ApiaryID)
	paths := []string{
		"/", "/month", "/year", "/day", visit, visit + "/record", visit + "/sheet", visit + "/desk", hive, hive + "/change", hive + "/record", boxPath(box.ID), "/apiaries", "/apiaries/new", apiary, apiary + "/desk", apiary + "/marks", "/repairs", "/fit", "/preferences", findPath("q"), "/find", "/guide", "/guide/dates", "/guide/grades", "/guide/gaps", "/guide/calendars", "/guide/mails",
		"/map", "/places/source",
		"/sign-in", "/nothing-here", c.act(notify.RainedOffDeed, "Brida", v), c.act(notify.CantGoDeed, "Brida", v), c.act(notify.OpenedDeed, "Brida", v),
	}
	for _, path := range paths {
		b.goTo(path)
		if shift := ask[float64](b, layoutShift); shift > 0.001 {
			t.Errorf("%s moves while it loads: %.3f: %s", path, shift, ask[string](b, layoutShifted))
		}
		ask[bool](b, `document.querySelectorAll("main details").forEach(d => d.open = true), true`)
		for what, list := range map[string]string{"wider than the phone": tooWide, "too small for a thumb": tooSmall, "wider than their buttons": spills} {
			if bad := ask[string](b, list); bad != "" {
				t.Errorf("%s: %s: %s", path, what, bad)
			}
		}
		for _, scheme := range []string{"light", "dark"} {
			call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
			if bad := ask[string](b, lowContrast); bad != "" {
				t.Errorf("%s, %s: hard to read: %s", path, scheme, bad)
			}
		}
	}
	if n := len(b.complaints); n > 2 { // two for the page that is not there
		b.quiet()
	}
	// No script of a page takes it for another's: a keeper's has fewer forms.
	keeper := c.open(t, browser, "Brida")
	for _, path := range slices.Concat(paths, []string{"/rules", "/rules/history", "/links", "/members", "/messages", "/sign-ins", apiary + "/season", apiary + "/hives", apiary + "/marks", hive + "/colony/split"}) {
		keeper.goTo(path)
	}
	keeper.quietBut("Failed to load resource")
}

// layoutShift sums how far things moved while the page loaded, as browsers
// score it.
const layoutShift = `(() => { const o = new PerformanceObserver(() => {}); o.observe({type: "layout-shift", buffered: true});
	return o.takeRecords().reduce((sum, e) => sum + e.value, 0) })()`

// layoutShifted names what moved.
const layoutShifted = `(() => { const o = new PerformanceObserver(() => {}); o.observe({type: "layout-shift", buffered: true});
	return o.takeRecords().flatMap(e => e.sources.map(s => (s.node ? s.node.nodeName + "." + (s.node.className || s.node.textContent || "").slice(0, 40) : "?") + " from " + Math.round(s.previousRect.top) + " to " + Math.round(s.currentRect.top))).join("; ") })()`

// lowContrast lists texts whose contrast with what is behind them is below
// 4.5 to 1 (WCAG 2.2, 1.4.3), computed with its formula for relative luminance.
const lowContrast = `(() => {
	const rgb = s => (s.match(/[\d.]+/g) || []).map(Number);
	const lum = c => { const [r, g, b] = c.map(v => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b };
	const behind = e => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor); if (c.length == 3 || c[3] == 1) return c.slice(0, 3) } return [255, 255, 255] };
	const out = [];
	for (const e of document.querySelectorAll("body *")) {
		if (!e.checkVisibility() || e.closest("svg") || ![...e.childNodes].some(n => n.nodeType == 3 && n.data.trim())) continue;
		const a = lum(rgb(getComputedStyle(e).color).slice(0, 3)), b = lum(behind(e)), ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
		if (ratio < 4.5) out.push(e.textContent.trim().slice(0, 30) + " " + ratio.toFixed(2));
	}
	return out.slice(0, 5).join("; ");
})()`

func TestSignInAddressWorksOnce(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	token, err := c.store.NewSignIn(context.Background(), c.person["Brida"], time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	b := c.stranger()
	for range 3 { // scanners follow it
		b.get("/sign-in/"+token).says(http.StatusOK, "signs you in once")
	}
	b.get(visitPath(c.visit("Quarry").UID) + "?club=" + itoa(c.id)).says(http.StatusSeeOther)
	got := b.post("/sign-in/"+token, nil).says(http.StatusSeeOther)
	if to := got.header.Get("Location"); !strings.HasPrefix(to, "/visit/") {
		t.Errorf("led to %s, want the page asked for before signing in", to)
	}
	c.stranger().post("/sign-in/"+token, nil).says(http.StatusGone, "used or is too old")
	b.get("/").says(http.StatusOK, "What is next")
	other := c.as("Brida")
	b.post("/sign-out-everywhere", fields("sure", "yes")).says(http.StatusSeeOther)
	other.get("/").says(http.StatusSeeOther)
}
