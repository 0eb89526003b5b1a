package web

import (
	"context"
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/emulation"
)

// coloniesOnAPhone notes a death, a split and a union in German without a script, and
// undoes the death; nothing is wider than the phone or too small for a thumb.
func coloniesOnAPhone(t *testing.T, browser context.Context) {
	c := serveClub(t)
	c.speaks("Ansel", "de")
	b := c.open(t, browser, "Ansel")
	h, box := c.boxNamed("Q11")
	other := &c.club().Apiaries[1].Hives[1]
	call(b, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	begin := func(hive int64, what string) {
		t.Helper()
		b.goTo(hivePath(hive))
		b.fits()
		b.tap(fmt.Sprintf(`a[href="%s/colony"]`, hivePath(hive)))
		b.shows("Wähle, was geschehen ist.")
		b.fits()
		b.tap(fmt.Sprintf(`a[href="%s/colony/%s"]`, hivePath(hive), what))
		b.shows("Eine Notiz, wenn du magst")
		b.fits()
	}
	agree := func(means string) {
		t.Helper()
		b.shows("Das bedeutet es")
		b.shows(means)
		b.fits()
		b.tap("button[name=sure]")
		b.shows("Eingetragen: ")
		b.fits()
	}

	begin(h.ID, "died")
	b.shows("Schließ heute noch das Flugloch")
	b.tap(".pick:has([value=stay])")
	b.tap("form.fields button")
	agree("Ohne Bienen kittet nichts")
	b.shows("Hier leben seit")
	b.tap(".notice button")
	b.shows("Zurückgenommen: ")

	begin(h.ID, "split")
	b.tap(fmt.Sprintf(`.pick:has([name=box][value="%d"])`, box.ID))
	b.write("input[name=name]", "Lärche")
	b.tap(".pick:has([value=stays])")
	b.tap("form.fields button")
	agree("Es wurde geteilt: Q11 kam zu Lärche.")

	begin(h.ID, "united")
	ask[bool](b, fmt.Sprintf(`document.querySelector("select[name=other]").value = "%d", true`, other.ID))
	b.tap(".pick:has([value=here])")
	b.tap("form.fields button")
	b.shows("von 1 ganz unten an")
	b.fits()
	b.tap("form.fields button")
	agree("Es wurde vereinigt: ")
	if _, now := c.club().HiveByID(h.ID); len(now.Boxes) != len(h.Boxes)-1+len(other.Boxes) {
		t.Errorf("%d boxes stand on it", len(now.Boxes))
	}
}
