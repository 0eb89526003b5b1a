package web

import (
	"testing"

	"github.com/chromedp/chromedp"
)

// TestAMonthComesInWithoutMoving: a page that arrives piece by piece has a place for each
// piece, so that nothing moves under a finger.
func TestAMonthComesInWithoutMoving(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.open(t, browse(t), "Ansel")
	for _, width := range []int64{360, 1280} {
		b.do(chromedp.EmulateViewport(width, 740))
		b.goTo("/month?month=2027-07")
		moved := ask[string](b, `(() => {
			const moved = [];
			const arrive = (within) => {
				const parts = [...within.childNodes], there = [];
				within.replaceChildren();
				for (const part of parts) {
					within.append(part);
					for (const [was, x, y] of there) {
						const is = was.getBoundingClientRect();
						if (Math.abs(is.x - x) + Math.abs(is.y - y) > 1.5) moved.push(was.innerText + " when " + part.textContent + " came");
					}
					if (part.nodeType == 1) { const is = part.getBoundingClientRect(); there.push([part, is.x, is.y]); }
				}
				return there.length;
			};
			document.querySelector(".month tbody").remove();
			const n = arrive(document.querySelector(".cal-nav")), days = arrive(document.querySelector(".month thead tr"));
			if (n < 4 || days != 8) moved.push(n + " ways and " + days + " columns");
			const head = document.querySelector(".cal-head");
			arrive(head);
			return moved.join("; ");
		})()`)
		if moved != "" {
			t.Errorf("%d px: %s", width, moved)
		}
	}
	b.quiet()
}
