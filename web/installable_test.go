package web

import (
	"context"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// TestABrowserInstallsTheApp: Chromium itself finds nothing that keeps the pages
// from being installed, and its worker answers for the page that the app begins
// with, also without a signal.
func TestABrowserInstallsTheApp(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.openIn(t, browse(t), "Brida") // in the browser's own folder: a private window installs nothing
	b.kept("/")
	errors, err := chromedp.Run(b.ctx, func(ctx context.Context, t *chromedp.Target) ([]*page.InstallabilityError, error) {
		got, err := cdp.Call(ctx, t, page.GetInstallabilityErrors, cdp.Empty{})
		if err != nil {
			return nil, err
		}
		return got.InstallabilityErrors, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range errors {
		t.Errorf("it cannot be installed: %s %v", e.ErrorID, e.ErrorArguments)
	}
	start := ask[string](b, `new URL(document.querySelector("link[rel=manifest]").href).pathname`)
	if start != "/app.webmanifest" {
		t.Errorf("the manifest is %s", start)
	}
	b.untilTrue(`navigator.serviceWorker.getRegistration().then((r) => new URL(r.scope).pathname == "/" && !!navigator.serviceWorker.controller)`)
	c.line.noSignal.Store(true)
	b.goTo("/")
	b.headed("What is due")
}
