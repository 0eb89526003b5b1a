package web

import (
	"testing"

	"github.com/chromedp/chromedp"
)

// TestChangesOfPlanStandApart: each change of a visit has a row and a button of its own,
// on a phone and where there is room for two beside one another.
func TestChangesOfPlanStandApart(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Orchard")
	b := c.open(t, browse(t), "Ansel")
	for _, width := range []int64{360, 1280} {
		b.do(chromedp.EmulateViewport(width, 740))
		b.goTo(visitPath(v.UID))
		if n := ask[int](b, `document.querySelectorAll(".changes > details > summary, .changes > form").length`); n < 4 {
			t.Fatalf("%d changes of plan", n)
		}
		wrong := ask[string](b, `(() => {
			const rows = [...document.querySelectorAll(".changes > *")];
			rows.forEach((row) => { if (row.matches("details")) row.open = true; });
			const boxes = rows.map((row) => row.getBoundingClientRect());
			return rows.map((row, i) => i && boxes[i].top < boxes[i - 1].bottom ? "beside: " + row.innerText :
				row.querySelectorAll("form").length > 1 || row.querySelectorAll("button").length > 1 ? "two: " + row.innerText : "").filter(Boolean).join("; ");
		})()`)
		if wrong != "" {
			t.Errorf("%d px: %s", width, wrong)
		}
	}
	b.quiet()
}
