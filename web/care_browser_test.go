package web

import (
	"context"
	"fmt"
	"testing"

	"pryday/notify"
	"pryday/store"
)

// longName is one word of 60 letters, as long as names may be.
const longName = "Streuobstwiesenbienenstandortgenehmigungsverfahrensunterlage"

// longNamed is a club in which everything that people name has a long name.
func (c *testClub) longNamed() *testClub {
	records := quarryClub()
	records.Name = longName
	for i := range records.Members {
		records.Members[i].Email = fmt.Sprintf("long%d@example.org", i)
	}
	records.Members[0].Name, records.Members[0].Language = longName, "de"
	quarry := &records.Apiaries[1]
	quarry.Name, quarry.Hives[0].Name, quarry.Keepers = longName, longName, []int64{1, 2}
	of := *c
	of.id = c.importClub(records)
	return &of
}

// doubleText is text at twice its size (WCAG 2.2, 1.4.4), of which the
// page must not scroll sideways.
const doubleText = `document.documentElement.style.fontSize = "200%", true`

// sticksOut lists what makes the page scroll sideways, in the order of the page,
// but for what scrolls by itself.
const sticksOut = `document.documentElement.scrollWidth <= innerWidth ? "" : [...document.querySelectorAll("body *")].filter((e) => e.checkVisibility() && e.getBoundingClientRect().right + scrollX > innerWidth + 1 && !e.closest(".across, .wide, .sheet, .steps, .vh, .skip, svg *"))
	.map((e) => (e.closest("[id]")?.id || "") + ">" + e.tagName + "." + e.className + " " + Math.round(e.getBoundingClientRect().right) + " " + e.textContent.trim().slice(0, 30)).slice(0, 4).join("; ") || "the page"`

// tooNear lists what a finger cannot pick out: targets below 24 CSS pixels around
// whose middle a circle of that width meets another one (WCAG 2.2, 2.5.8).
const tooNear = `(() => {
	const all = [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, label.pick, label.check, label.degree")].filter((e) => e.checkVisibility() && !e.closest("svg") && !e.matches(".skip"));
	const targets = all.filter((e) => !(e.matches("input") && e.closest("label"))).map((e) => { const r = e.getBoundingClientRect(); return {e, r, x: (r.left + r.right) / 2, y: (r.top + r.bottom) / 2, small: r.width < 23.5 || r.height < 23.5}; });
	const gap = (a, b) => Math.hypot(Math.max(b.r.left - a.x, 0, a.x - b.r.right), Math.max(b.r.top - a.y, 0, a.y - b.r.bottom));
	return targets.filter((a) => a.small && targets.some((b) => b.e != a.e && !a.e.contains(b.e) && !b.e.contains(a.e) && (b.small ? Math.hypot(a.x - b.x, a.y - b.y) < 23.5 : gap(a, b) < 11.5)))
		.map((a) => a.e.tagName + " " + a.e.textContent.trim().slice(0, 40) + " " + Math.round(a.r.width) + "x" + Math.round(a.r.height)).slice(0, 6).join("; ");
})()`

// longNamesAndLargeText looks at every page of a club whose names are long, in
// German, whose words are longer, at the narrowest width, with text as it is and at
// twice its size.
func longNamesAndLargeText(t *testing.T, browser context.Context) {
	c := serveClub(t).longNamed()
	records := c.club()
	quarry := &records.Apiaries[0]
	for i := range records.Apiaries {
		if records.Apiaries[i].Name == longName {
			quarry = &records.Apiaries[i]
		}
	}
	v, h := c.visit(longName), quarry.Hives[0]
	long := c.as(longName)
	table := long.paste(ownTable)
	long.post(table+"/columns", fields(ownColumns...)).says(303)
	long.post("/links", fields("label", longName, "kind", "club"))
	c.ownEntries(longName, store.MemberLink)
	b := c.open(t, browser, longName)
	hive, visit, apiary := "/hive/"+itoa(h.ID), visitPath(v.UID), "/apiary/"+itoa(quarry.ID)
	for _, path := range []string{
		"/", "/month", "/year", "/day", visit, visit + "/record", visit + "/sheet", visit + "/desk",
		hive, hive + "/change", hive + "/record", hive + "/colony", hive + "/colony/split", hive + "/colony/died", hive + "/colony/united", boxPath(h.Boxes[0].ID),
		"/repairs", findPath("q"), "/find", "/apiaries", "/apiaries/new", apiary, apiary + "/season", apiary + "/hives", apiary + "/desk", apiary + "/marks", "/map", "/rules", "/rules/limit", "/rules/history", "/fit",
		"/links", "/members", "/members/" + itoa(c.member[longName]), "/messages", "/audit", "/records", "/bring-in", table + "/columns", table + "/questions",
		"/preferences", "/preferences/address", "/preferences/erase", "/sign-ins", "/invitations", "/guide", "/guide/dates", "/guide/grades", "/guide/calendars", "/guide/gaps", "/guide/mails", "/places/source", "/nothing-here",
		c.act(notify.RainedOffDeed, longName, v), c.act(notify.CantGoDeed, longName, v), c.act(notify.OpenedDeed, longName, v),
	} {
		b.goTo(path)
		ask[bool](b, `document.querySelectorAll("details").forEach(d => d.open = true), true`)
		looks := map[string]string{"wider than the phone": sticksOut, "too small for a thumb": tooSmall, "too near to one another": tooNear, "wider than their buttons": spills}
		for what, list := range looks {
			if bad := ask[string](b, list); bad != "" {
				t.Errorf("%s: %s: %s", path, what, bad)
			}
		}
		ask[bool](b, doubleText)
		if bad := ask[string](b, sticksOut); bad != "" {
			t.Errorf("%s at 200 %%: wider than the phone: %s", path, bad)
		}
	}
	if n := len(b.complaints); n > 2 { // two for the page that is not there
		b.quiet()
	}
}
