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
	b := c.openIn(t, browse(t, wholeBrowser(t)), "Brida") // in the browser's own folder: a private window installs nothing
	b.goTo("/healthz")
	if len(b.keepsFromInstalling()) == 0 {
		t.Error("the browser would install anything")
	}
	b.kept("/")
	for _, e := range b.keepsFromInstalling() {
		t.Errorf("it cannot be installed: %s", e.ErrorID)
	}
	start := ask[string](b, `new URL(document.querySelector("link[rel=manifest]").href).pathname`)
	if start != "/app.webmanifest" {
		t.Errorf("the manifest is %s", start)
	}
	b.untilTrue(`navigator.serviceWorker.getRegistration().then((r) => new URL(r.scope).pathname == "/" && !!navigator.serviceWorker.controller)`)
	c.line.noSignal.Store(true)
	b.goTo("/")
	b.headed("What is next")
}

// keepsFromInstalling is what the browser has against installing the page.
func (b *tab) keepsFromInstalling() []*page.InstallabilityError {
	b.t.Helper()
	found, err := chromedp.Run(b.ctx, func(ctx context.Context, t *chromedp.Target) ([]*page.InstallabilityError, error) {
		got, err := cdp.Call(ctx, t, page.GetInstallabilityErrors, cdp.Empty{})
		if err != nil {
			return nil, err
		}
		return got.InstallabilityErrors, nil
	})
	if err != nil {
		b.t.Fatal(err)
	}
	return found
}
