package web

import (
	"context"
	"fmt"
	"image/color"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"pryday/scheduler"
	"pryday/testdata/testrun"
)

// photoFile writes a picture as a camera would have it, and returns its path.
func photoFile(t testing.TB, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// choose chooses photos of a box in a record form, and waits until they are drawn.
func (b *tab) choose(box *scheduler.Box, want int, files ...string) {
	b.t.Helper()
	row := fmt.Sprintf("#box-%d ", box.ID)
	ask[bool](b, fmt.Sprintf(`document.querySelectorAll(%q).forEach(d => d.open = true), true`, row+"details"))
	testrun.Until(b.t, "photos are chosen", func() bool {
		err := chromedp.Do(b.ctx, chromedp.SetUploadFiles(chromedp.CSS(row+"input[type=file][multiple]"), files))
		if err != nil && !strings.Contains(err.Error(), "Could not find node") { // the page that had it was just loaded anew
			b.t.Fatal(err)
		}
		return err == nil
	})
	b.until(fmt.Sprintf(`document.querySelectorAll(%q).length == %d`, row+".photos canvas", want))
}

func TestPhotosInABrowser(t *testing.T) {
	t.Parallel()
	browser := browse(t)
	t.Run("with a signal", func(t *testing.T) { photosWithASignal(t, browser) })
	t.Run("without a signal", func(t *testing.T) { photosWithoutASignal(t, browser) })
	t.Run("a page that is left while it saves", func(t *testing.T) { leaveWhileItSaves(t, browser) })
	t.Run("a phone that is full", func(t *testing.T) { recordOnAFullPhone(t, browser) })
	t.Run("a private window", func(t *testing.T) { recordInAPrivateWindow(t, browser) })
	t.Run("in the background", func(t *testing.T) { sendInTheBackground(t, browse(t, wholeBrowser(t))) })
	t.Run("an earlier build", func(t *testing.T) { recordOnAnEarlierBuild(t, browser) })
}

// photosWithASignal: they are small before they are sent, survive a page that is
// loaded anew and a question of the service, and stand on the page that follows.
func photosWithASignal(t *testing.T, browser context.Context) {
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	_, below := c.boxNamed("Q12")
	b := c.open(t, browser, "Brida")
	b.goTo("/hive/" + itoa(h.ID) + "/record")
	large := photoFile(t, "large.jpg", picture(t, 1800, 1200, color.RGBA{G: 200, A: 255}))
	b.choose(box, 1, large)
	b.choose(box, 2, photoFile(t, "IMG_2.HEIC", []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00")), large)
	b.shows("This browser cannot read the phone's own format (HEIC)")
	b.do(chromedp.Reload())
	b.until(fmt.Sprintf(`document.querySelectorAll("#box-%d .photos canvas").length == 2`, box.ID))
	b.tap(fmt.Sprintf("#box-%d .photos li:last-child button", box.ID))
	b.until(fmt.Sprintf(`document.querySelectorAll("#box-%d .photos canvas").length == 1`, box.ID))
	b.tap(fmt.Sprintf("#box-%d .degree:has(.j4)", below.ID)) // which was light: three degrees at once are asked about
	b.tap(".save-bar button")
	b.shows("Say how Q13 came apart, too")
	b.tap(fmt.Sprintf("#box-%d .degree:has(.j2)", box.ID))
	b.tap(".save-bar button")
	b.shows("Not saved yet.")
	b.until(fmt.Sprintf(`document.querySelectorAll("#box-%d .photos canvas").length == 1`, box.ID))
	b.tap("button[name=sure]")
	b.until(`document.querySelector(".saved .photos img")?.naturalWidth > 0`)
	photos := c.photosOf(box.ID)
	if len(photos) != 1 || photos[0].Width != 1600 || photos[0].Height != 1067 && photos[0].Height != 1066 {
		t.Fatalf("kept %+v", photos)
	}
	b.goTo(boxPath(box.ID))
	b.until(`document.querySelector(".history .photos img") !== null`)
	b.tap(".history .photos a")
	b.until(`document.querySelector("img.photo")?.naturalWidth == 1600`)
	b.tap("main form button")
	b.shows("A photo of Q13 from")
	b.tap(".notice button")
	b.shows("The photo is back.")
	b.quietBut("Failed to load resource") // the question
}

// photosWithoutASignal: they wait with their record, come back into its form, and
// arrive once, after it.
func photosWithoutASignal(t *testing.T, browser context.Context) {
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	b := c.open(t, browser, "Brida")
	b.kept("/")
	path := "/hive/" + itoa(h.ID) + "/record"
	b.goTo(path)
	c.line.noSignal.Store(true)
	file := photoFile(t, "a.jpg", picture(t, 1200, 900, color.White))
	b.choose(box, 1, file)
	b.choose(box, 2, photoFile(t, "b.jpg", picture(t, 100, 900, color.Black)))
	b.tap(fmt.Sprintf("#box-%d .degree:has(.j1)", box.ID))
	for range 2 { // taps
		b.tap(".save-bar button")
		b.shows("Q13: light · 2 photos")
	}
	if len(c.photosOf(box.ID)) != 0 {
		t.Fatal("sent without a signal")
	}
	b.untilTrue(`waiting.all().then((all) => all.every((item) => item.state == "waiting"))`) // a page that leaves while it sends is given a minute
	c.line.noSignal.Store(false)
	b.goTo(path)
	b.until(`document.querySelectorAll(".saved .photos img").length == 2`)
	b.untilTrue(`waiting.all().then(async (all) => all.length + (await photoQueue.all()).length == 0)`)
	if _, now := c.boxNamed("Q13"); len(now.Openings) != 2 || len(c.photosOf(box.ID)) != 2 {
		t.Errorf("%d openings, %d photos", len(now.Openings), len(c.photosOf(box.ID)))
	}

	// One that the service does not take says why, and is thrown away only by hand.
	b.untilTrue(fmt.Sprintf(`photoQueue.put({id: newID(), of: "", state: "waiting", why: "", at: 1, who: page.who, box: "%d", name: "Q13", on: "2027-05-30",
		action: %q, fields: {hive: "%d", on: "2027-05-30", base: newID()}, bytes: new Uint8Array([1, 2]).buffer}).then(() => true)`, box.ID, path, h.ID))
	b.goTo("/")
	b.shows("1 photo waits on this phone to be sent")
	b.shows("is not kept: it is no picture")
	b.tap("#waiting li button")
	b.tap("#waiting li button")
	b.until(`document.getElementById("waiting") === null`)
}

// leaveWhileItSaves: whoever leaves a page between its record and its photos, which
// are kept apart, has them go along all the same.
func leaveWhileItSaves(t *testing.T, browser context.Context) {
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	b := c.open(t, browser, "Brida")
	b.goTo("/hive/" + itoa(h.ID) + "/record")
	b.choose(box, 1, photoFile(t, "a.jpg", picture(t, 120, 90, color.White)))
	ask[bool](b, `(photoQueue.put = () => new Promise(() => {}), true)`)
	b.tap(fmt.Sprintf("#box-%d .degree:has(.j1)", box.ID))
	b.tap(".save-bar button")
	b.untilTrue(`waiting.all().then((all) => all.length == 1)`)
	b.goTo("/")
	b.untilTrue(`photoQueue.all().then((all) => all.length == 1 && all[0].state == "draft")`)
	b.untilTrue(`waiting.all().then((all) => waiting.put({...all[0], at: 0})).then(() => true)`) // a minute later
	b.untilNothingWaits()
	if c.recordedOf(h.ID) != 1 || len(c.photosOf(box.ID)) != 1 {
		t.Errorf("%d boxes, %d photos", c.recordedOf(h.ID), len(c.photosOf(box.ID)))
	}
}

// recordOnAFullPhone: what cannot be kept is said, and stays in the form until
// there is a signal again.
func recordOnAFullPhone(t *testing.T, browser context.Context) {
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	b := c.open(t, browser, "Brida")
	b.goTo("/hive/" + itoa(h.ID) + "/record")
	ask[bool](b, `IDBObjectStore.prototype.put = () => { throw new DOMException("full", "QuotaExceededError") }, true`)
	c.line.noSignal.Store(true)
	ask[bool](b, fmt.Sprintf(`document.querySelectorAll("#box-%d details").forEach(d => d.open = true), true`, box.ID))
	b.choose(box, 1, photoFile(t, "a.jpg", picture(t, 120, 90, color.White)))
	b.shows("the photo is kept only while this page is open")
	b.tap(fmt.Sprintf("#box-%d .degree:has(.j2)", box.ID))
	b.tap(".save-bar button")
	b.shows("there is no signal, and this phone is full")
	if !ask[bool](b, fmt.Sprintf(`document.querySelector("#box-%d .j2").checked`, box.ID)) {
		t.Error("the answer is gone")
	}
	c.line.noSignal.Store(false)
	b.tap(".save-bar button")
	b.until(`document.querySelector(".saved .photos img")?.naturalWidth > 0`)
	if c.recordedOf(h.ID) != 1 || len(c.photosOf(box.ID)) != 1 {
		t.Errorf("%d boxes, %d photos", c.recordedOf(h.ID), len(c.photosOf(box.ID)))
	}
}

// recordInAPrivateWindow: it is said before somebody relies on it, and with a
// signal all works.
func recordInAPrivateWindow(t *testing.T, browser context.Context) {
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	b := c.open(t, browser, "Brida")
	call(b, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{
		Source: `indexedDB.open = () => { throw new DOMException("private", "InvalidStateError") }`,
	})
	b.goTo("/hive/" + itoa(h.ID) + "/record")
	b.shows("This window keeps nothing on the phone: it is a private one")
	c.line.noSignal.Store(true)
	b.choose(box, 1, photoFile(t, "a.jpg", picture(t, 120, 90, color.White)))
	b.tap(fmt.Sprintf("#box-%d .degree:has(.j2)", box.ID))
	b.tap(".save-bar button")
	b.shows("there is no signal, and this phone cannot keep it. Your answers are still here")
	c.line.noSignal.Store(false)
	b.tap(".save-bar button")
	b.until(`document.querySelector(".saved .photos img")?.naturalWidth > 0`)
	if c.recordedOf(h.ID) != 1 || len(c.photosOf(box.ID)) != 1 {
		t.Errorf("%d boxes, %d photos", c.recordedOf(h.ID), len(c.photosOf(box.ID)))
	}
}
