package web

import (
	"context"
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/emulation"
)

// fits looks whether nothing on a page is wider than the phone or too small for a thumb.
func (b *tab) fits() {
	b.t.Helper()
	for what, script := range map[string]string{"wider than the phone": tooWide, "too small for a thumb": tooSmall} {
		if bad := ask[string](b, script); bad != "" {
			b.t.Errorf("%s is %s: %s", ask[string](b, "location.pathname"), what, bad)
		}
	}
}

// bringInOnAPhone brings in pasted cells in German, without a script, and looks at
// each step: nothing is wider than the phone or too small for a thumb.
func bringInOnAPhone(t *testing.T, browser context.Context) {
	c := serveClub(t)
	c.speaks("Ansel", "de")
	b := c.open(t, browser, "Ansel")
	b.goTo("/records")
	b.tap(`a[href="/bring-in"]`)
	b.headed("Eine Tabelle hereinholen")
	looked := b.fits
	looked()
	ask[bool](b, fmt.Sprintf(`document.querySelector("textarea").value = %q, true`, ownTable)) // as pasting does
	call(b, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	b.tap(`form[action="/bring-in"] button`)
	b.headed("Was die Spalten bedeuten")
	b.shows("Gelesen: eingefügte Zellen, 5 Zeilen.")
	looked()
	b.tap(".bring .acts button")
	b.headed("Was die Tabelle nicht sagt")
	looked()
	choose := func(name, value string) {
		t.Helper()
		ask[bool](b, fmt.Sprintf(`document.querySelector("select[name=\"%s\"]").value = %q, true`, name, value))
	}
	for _, pick := range []string{"[name=order][value=day-first]", "[name=scraped][value=part]", "[name=units][value=mm]", "[name=stack][value=bottom-up]"} {
		b.tap(".pick:has(" + pick + ")")
	}
	for name, value := range map[string]string{"place:moor": "*new", "degree:bombenfest": "4", "lowest": "deep", "upper": "medium"} {
		choose(name, value)
	}
	b.tap(".place summary")
	for name, value := range map[string]string{"latitude": "44,1", "longitude": "-79,9", "elevation_m": "300", "timezone": "America/Toronto"} {
		b.write(fmt.Sprintf(`input[name="%s:moor"]`, name), value)
	}
	b.tap(".bring > .acts button")
	b.headed("Was hereinkäme")
	b.shows("neulich")
	looked()
	b.tap(".check")
	b.tap("main form.fields .acts button")
	b.shows("Hereingeholt: 1 Stand, 1 Volk, 2 Zargen, 3 Öffnungen.")
	if n := len(c.club().Apiaries); n != 3 {
		t.Errorf("%d apiaries stand", n)
	}
}
