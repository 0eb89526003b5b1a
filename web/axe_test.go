//go:build axe

package web

import (
	"fmt"
	"os"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"pryday/notify"
)

// TestAxe runs axe-core's rules for WCAG 2.2 AA and its best practices on every
// page, light and dark, with every part of it open. axe-core comes from npm, so
// this is not part of the usual tests: make soak fetches it and names its file
// in PRYDAY_AXE.
func TestAxe(t *testing.T) {
	t.Parallel()
	axe, err := os.ReadFile(os.Getenv("PRYDAY_AXE"))
	if err != nil {
		t.Fatalf("set PRYDAY_AXE to axe-core's axe.min.js: %v", err)
	}
	c := serveClub(t)
	v := c.visit("Quarry")
	h, box := c.boxNamed("Q11")
	b := c.open(t, browse(t), "Ansel")
	hive, visit, apiary := "/hive/"+itoa(h.ID), visitPath(v.UID), fmt.Sprintf("/apiary/%d", v.ApiaryID)
	for _, path := range []string{
		"/", visit, visit + "/record", visit + "/sheet", visit + "/desk", hive, hive + "/change", hive + "/record", boxPath(box.ID), "/apiaries", "/apiaries/new", apiary, apiary + "/season",
		apiary + "/hives", "/repairs", "/links", "/rules", "/rules/history", "/fit", "/members", "/messages", "/records", "/audit", "/preferences", findPath("q"), "/find", "/sign-in",
		"/nothing-here", c.act(notify.RainedOffDeed, "Brida", v), c.act(notify.CantGoDeed, "Brida", v), c.act(notify.OpenedDeed, "Brida", v),
	} {
		for _, scheme := range []string{"light", "dark"} {
			call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
			b.goTo(path)
			ask[bool](b, `document.querySelectorAll("main details").forEach(d => d.open = true), true`)
			b.do(chromedp.Evaluate[chromedp.Void](string(axe)))
			found, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`
				axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then(r =>
					r.violations.map(v => v.id + ": " + v.nodes.map(n => n.html.slice(0, 120)).slice(0, 3).join(" ")).join("\n"))`, chromedp.EvalAwaitPromise))
			if err != nil {
				t.Fatal(err)
			}
			if found != "" {
				t.Errorf("%s, %s:\n%s", path, scheme, found)
			}
		}
	}
}
