package web

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/chromedp"

	"pryday/testdata/testrun"
)

// pressAgainOnASlowLine presses "I'll go" twice while no answer comes: it shows
// that it works and is sent once. A line that never answers gives it back, and
// when it has been answered, Back shows it at rest.
func pressAgainOnASlowLine(t *testing.T, browser context.Context) {
	c := serveClub(t)
	v := c.visit("Orchard")
	b := c.open(t, browser, "Corin")
	b.goTo("/")
	sent := atomic.Int64{}
	hangs := func(r *http.Request) lineBreak {
		if r.Method != http.MethodPost || strings.HasPrefix(r.URL.Path, "/sign-") {
			return unbroken
		}
		sent.Add(1)
		return hanging
	}
	c.line.breaks.Store(&hangs)
	const button = `document.querySelector('form[action$="/take"] button')`
	// In one go: while a page is on its way to another, a browser answers no more questions.
	told := ask[string](b, `(() => {
		const button = `+button+`, prevented = [];
		addEventListener("submit", (event) => prevented.push(event.defaultPrevented));
		button.click(); button.click();
		return [...prevented, button.getAttribute("aria-busy"), working.textContent].join();
	})()`)
	if want := "false,true,true,Working on it…"; told != want {
		t.Errorf("two presses in a row: %s, want %s", told, want)
	}
	testrun.Until(t, "it is sent", func() bool { return sent.Load() == 1 })
	b.do(chromedp.Stop())
	b.goTo("/")
	rested, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](`new Promise((done) => {
		busyPatience = 1;
		const button = `+button+`;
		button.click();
		new MutationObserver(() => { if (!button.hasAttribute("aria-busy")) { stop(); done(!button.form.dataset.busy && !working.textContent); } }).observe(button, { attributes: true });
	})`, chromedp.EvalAwaitPromise))
	if err != nil || !rested {
		t.Errorf("a line that never answers gives the button back: %t, %v", rested, err)
	}
	c.line.breaks.Store(nil)
	b.goTo("/")
	b.do(chromedp.Evaluate[chromedp.Void](button + `.click()`))
	b.shows("You go to Orchard")
	if got := c.visitByUID(v.UID); !slices.Contains(got.Taken, c.member["Corin"]) {
		t.Errorf("who goes: %v", got.Taken)
	}
	b.do(chromedp.Evaluate[chromedp.Void](`history.back()`))
	b.untilTrue(`!document.querySelector("[data-busy], [aria-busy]")`)
}
