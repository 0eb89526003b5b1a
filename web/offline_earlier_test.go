package web

import (
	"bytes"
	"context"
	"fmt"
	"image/color"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/cdproto/serviceworker"
	"github.com/chromedp/chromedp"

	"pryday/testdata/testrun"
)

// earlierBuild serves the scripts of an earlier build, which knew no photos, in
// place of today's until it is over.
type earlierBuild struct {
	http.Handler
	c      *testClub
	script []byte
	worker []byte
	over   atomic.Bool
}

const earlierScript = "earlier.0123456789abcdef.js"

func newEarlierBuild(t testing.TB, c *testClub) *earlierBuild {
	t.Helper()
	read := func(name string) []byte {
		b, err := os.ReadFile("testdata/earlier-build/" + name)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	join := func(parts ...[]byte) []byte { return bytes.Join(parts, []byte("\n")) }
	e := &earlierBuild{Handler: c.line.Handler, c: c, script: join(read("waiting.js"), assetFile("pryday.js"), read("offline.js"))}
	list := fmt.Appendf(nil, `const assets = [%q, %q];`, earlierScript, c.server.assets.Style)
	e.worker = join(list, read("waiting.js"), read("worker.js"))
	c.line.Handler = e
	return e
}

func (e *earlierBuild) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	script := map[string][]byte{"/worker.js": e.worker, "/assets/" + earlierScript: e.script}[r.URL.Path]
	switch {
	case e.over.Load():
		e.Handler.ServeHTTP(w, r)
	case script != nil:
		w.Header().Set("Content-Type", "text/javascript")
		w.Header().Set("Cache-Control", "no-cache")
		_, _ = w.Write(script)
	default:
		page := httptest.NewRecorder()
		e.Handler.ServeHTTP(page, r)
		for name, values := range page.Header() {
			w.Header()[name] = values
		}
		w.WriteHeader(page.Code)
		_, _ = w.Write([]byte(strings.ReplaceAll(page.Body.String(), e.c.server.assets.Script, earlierScript)))
	}
}

// recordOnAnEarlierBuild: what was recorded without a signal on an earlier build
// arrives once when the signal is back and brings the new one along; and what it
// had kept does not keep the new one from working.
func recordOnAnEarlierBuild(t *testing.T, browser context.Context) {
	c, v := serveClub(t).stacks(2, 1, 1)
	hives := c.club().Apiaries[0].Hives
	build := newEarlierBuild(t, c)
	b := c.open(t, browser, "Edda")
	form := func(hive int) string { return fmt.Sprintf("%s/record?hive=%d", visitPath(v.UID), hives[hive].ID) }
	b.kept(form(1))
	c.line.noSignal.Store(true)
	b.goTo(form(0))
	b.headed("Sandpit hive 1")
	if ask[bool](b, `typeof photoQueue != "undefined"`) {
		t.Fatal("this is not the earlier build")
	}
	b.tap("button[name=whole]")
	b.headed("Sandpit hive 2")
	b.shows("1 record waits on this phone")
	build.over.Store(true)
	b.do(chromedp.Reload()) // still without a signal: the earlier build's own page
	b.headed("Sandpit hive 2")
	b.tap("button[name=whole]")
	b.shows("2 records wait on this phone")

	c.line.noSignal.Store(false)
	b.goTo(form(2))
	testrun.Until(t, "both arrive", func() bool { return c.recordedOf(hives[0].ID) == 2 && c.recordedOf(hives[1].ID) == 1 })
	b.untilTrue(`(async () => typeof photoQueue != "undefined" && !(await waiting.all()).length && !!(await navigator.serviceWorker.ready).active)()`)
	for _, h := range c.club().Apiaries[0].Hives[:2] {
		for _, box := range h.Boxes {
			if len(box.Openings) != 2 {
				t.Errorf("%s has %d openings, want 2", box.Name, len(box.Openings))
			}
		}
	}
	// And the new one keeps its own pages, records and photos from here on.
	b.goTo("/")
	b.untilTrue(`(async () => { const kept = await (await caches.open("pryday-pages")).match("/", {ignoreVary: true}); return (await kept.text()).includes("` + c.server.assets.Script + `") })()`)
	b.goTo(form(2))
	c.line.noSignal.Store(true)
	box := &hives[2].Boxes[0]
	b.choose(box, 1, photoFile(t, "a.jpg", picture(t, 120, 90, color.White)))
	b.tap("button[name=whole]")
	b.shows("1 photo")
	c.line.noSignal.Store(false)
	b.goTo("/")
	testrun.Until(t, "the photo arrives", func() bool { return len(c.photosOf(box.ID)) == 1 })
}

// sendInTheBackground: the browser wakes the worker when the signal is back
// (W3C Background Synchronization), though no page of the service is open.
func sendInTheBackground(t *testing.T, browser context.Context) {
	c, v := serveClub(t).stacks(2)
	h := c.club().Apiaries[0].Hives[0]
	b := c.open(t, browser, "Edda")
	b.kept(visitPath(v.UID) + "/record?hive=" + itoa(h.ID))
	var registered atomic.Value
	err := chromedp.Listen(b.ctx, func(ev any) {
		if ev, ok := ev.(*serviceworker.EventWorkerRegistrationUpdated); ok {
			for _, r := range ev.Registrations {
				if strings.HasPrefix(r.ScopeURL, c.http.URL) {
					registered.Store(r.RegistrationID)
				}
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	call(b, serviceworker.Enable, struct{}{})
	b.goTo(visitPath(v.UID) + "/record?hive=" + itoa(h.ID))
	c.line.noSignal.Store(true)
	b.choose(&h.Boxes[0], 1, photoFile(t, "a.jpg", picture(t, 120, 90, color.White)))
	b.tap("button[name=whole]")
	b.shows("1 record waits on this phone")
	b.untilTrue(`navigator.serviceWorker.ready.then((worker) => worker.sync.getTags()).then((tags) => tags.includes("send"))`)
	b.do(chromedp.Navigate("about:blank"))
	c.line.noSignal.Store(false)
	testrun.Until(t, "the worker is known", func() bool { return registered.Load() != nil })
	if n := c.recorded(); n != 0 {
		t.Fatalf("%d boxes are recorded already", n)
	}
	call(b, serviceworker.DispatchSyncEvent, serviceworker.DispatchSyncEventParams{
		Origin: c.http.URL, RegistrationID: registered.Load().(serviceworker.RegistrationID), Tag: "send",
	})
	testrun.Until(t, "the worker sends them", func() bool { return c.recorded() == 2 && len(c.photosOf(h.Boxes[0].ID)) == 1 })
}
