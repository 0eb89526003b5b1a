package web

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/store"
)

// TestWriteDownASheet: a grid of several hives goes in whole or not at all, says
// where it cannot, keeps all that was typed, and counts once.
func TestWriteDownASheet(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	b := c.as("Ansel")
	path := visitPath(v.UID) + "/desk"
	got := b.get(path).says(http.StatusOK, "Write down a sheet: Quarry", "Quarry hive 1", "Quarry hive 2")
	b.get(visitPath(v.UID)).holds(`href="` + path + `"`)
	var boxes []string
	for i := range c.club().Apiaries {
		if a := &c.club().Apiaries[i]; a.ID == v.ApiaryID {
			for _, h := range a.Hives {
				for _, x := range h.Boxes {
					boxes = append(boxes, x.Name)
					got.holds(`name="` + fieldsOf(x.ID) + `joint"`)
				}
			}
		}
	}
	field := func(name, field string) string {
		_, box := c.boxNamed(name)
		return fieldsOf(box.ID) + field
	}
	recorded := func() (n int) {
		for _, name := range boxes {
			if _, x := c.boxNamed(name); x.OpeningOn(today) != nil {
				n++
			}
		}
		return n
	}
	base := got.field("base")
	form := fields("base", base, "on", today.String(), "scraped", "part", "opened_by", "name", "opened_by_name", "Old Tam",
		field("Q13", "joint"), "1", field("Q13", "frames"), "-", field("Q12", "joint"), "X", field("Q12", "note"), "would not move", field("Q23", "joint"), "2", field("Q23", "frames"), "1", field("Q23", "scraped"), "all")

	for name, wrong := range map[string]struct{ field, value, says, focus string }{
		"a digit too many":          {field("Q22", "joint"), "7", "is no degree: write 0 to 4", field("Q22", "joint")},
		"a letter for a frame":      {field("Q23", "frames"), "q", "is no degree: write 0 to 4", field("Q23", "frames")},
		"a frame without its joint": {field("Q22", "frames"), "1", "Say how the joint came open", field("Q22", "joint")},
		"scraped alone":             {field("Q22", "scraped"), "all", "Say how the joint came open", field("Q22", "joint")},
		"a note alone":              {field("Q22", "note"), "sticky", "Say how the joint came open", field("Q22", "joint")},
		"a frame of a shut box":     {field("Q12", "frames"), "2", "left shut has no frames", field("Q12", "joint")},
		"a day to come":             {"on", (today + 1).String(), "is no day on which a box was opened", "on"},
		"no day":                    {"on", "", "is no day on which a box was opened", "on"},
		"an address for a name":     {"opened_by_name", "tam@example.org", "is an address", "opened_by"},
	} {
		t.Run(name, func(t *testing.T) {
			bad := fields()
			for k, values := range form {
				bad[k] = values
			}
			bad.Set(wrong.field, wrong.value)
			got := b.post(path, bad).says(http.StatusUnprocessableEntity, "Not saved yet.", wrong.says)
			for k, values := range bad {
				if k != "scraped" && !strings.HasSuffix(k, "-scraped") && k != "opened_by" && got.field(k) != values[0] {
					t.Errorf("%s came back as %q, want %q", k, got.field(k), values[0])
				}
			}
			tag := got.body[:strings.Index(got.body, " autofocus")]
			if tag = tag[strings.LastIndex(tag, "<"):]; !strings.Contains(tag, `name="`+wrong.focus+`"`) {
				t.Errorf("the focus is in %s, want %s", tag, wrong.focus)
			}
			if n := recorded(); n != 0 {
				t.Errorf("%d boxes were saved", n)
			}
		})
	}
	b.post(path, fields("base", base, "on", today.String())).says(http.StatusUnprocessableEntity, "Nothing is written in it yet")

	for range 2 { // presses
		b.follow(path, form).says(http.StatusOK, "3 boxes of Quarry are written down", "opened by Old Tam, written down by Ansel")
	}
	tam := scheduler.Opener{Name: "Old Tam"}
	for name, want := range map[string]scheduler.Opening{
		"Q13": {Joint: scheduler.Light, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedPart},
		"Q12": {Joint: scheduler.Stuck, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedNone, LeftShut: true, Note: "would not move"},
		"Q23": {Joint: scheduler.Firm, Frames: scheduler.Light, Scraped: scheduler.ScrapedAll},
	} {
		want.On = today
		if _, x := c.boxNamed(name); len(x.Openings) != 2 || !x.OpeningOn(today).SameAnswers(&want) || x.OpeningOn(today).OpenedBy() != tam {
			t.Errorf("%s: %+v, want %+v", name, x.OpeningOn(today), want)
		}
	}
	// The same sheet with another answer corrects; a fresh one asks.
	form.Set(field("Q13", "joint"), "0")
	b.follow(path, form).says(http.StatusOK)
	if _, x := c.boxNamed("Q13"); x.OpeningOn(today).Joint != scheduler.Loose || x.OpeningOn(today).OpenedBy() != tam {
		t.Errorf("corrected to %+v", x.OpeningOn(today))
	}
	b.get(path).says(http.StatusOK, "Joint loose", "Correct it")
	again := fields("base", uuid.NewString(), "on", today.String(), field("Q13", "joint"), "2")
	asked := b.post(path, again).says(http.StatusUnprocessableEntity, "Q13 is recorded for this day already")
	again.Set(field("Q13", "supersedes"), asked.field(field("Q13", "supersedes")))
	again.Set("sure", "yes")
	b.follow(path, again).says(http.StatusOK, "1 box of Quarry is written down")
}

// TestWriteDownADay: an apiary has a grid for any day without a visit, and boxes
// of another apiary do not go in by it.
func TestWriteDownADay(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	b := c.as("Brida")
	path := fmt.Sprintf("/apiary/%d/desk", v.ApiaryID)
	b.get(fmt.Sprintf("/apiary/%d", v.ApiaryID)).holds(`href="` + path + `"`)
	on := today - 3
	base := b.get(path+"?on="+on.String()).says(http.StatusOK, "Quarry hive 2").holds(`value="` + on.String() + `"`).field("base")
	_, here := c.boxNamed("Q13")
	_, elsewhere := c.boxNamed("O13")
	form := fields("base", base, "on", on.String(), fieldsOf(here.ID)+"joint", "1", fieldsOf(elsewhere.ID)+"joint", "1")
	b.post(path, form).says(http.StatusConflict, "Quarry")
	form.Del(fieldsOf(elsewhere.ID) + "joint")
	b.follow(path, form).says(http.StatusOK, "1 box of Quarry is written down")
	if _, x := c.boxNamed("Q13"); x.OpeningOn(on) == nil || x.OpeningOn(on).Opener != nil || x.OpeningOn(on).By != c.member["Brida"] {
		t.Errorf("recorded %+v", x.Openings)
	}
	c.as("Dorrit").post(path, form).says(http.StatusNotFound)
}

// writeDownByKeys fills in the grid of two hives with nothing but keys.
func writeDownByKeys(t *testing.T, browser context.Context) {
	c, v := serveClub(t).stacks(2, 2)
	b := c.open(t, browser, "Edda")
	b.goTo(visitPath(v.UID) + "/desk")
	cell := func(box, field string) string {
		_, x := c.boxNamed(box)
		return fmt.Sprintf("[name=%q]", fieldsOf(x.ID)+field)
	}
	at := func(box, field string) {
		t.Helper()
		if !ask[bool](b, fmt.Sprintf(`document.activeElement === document.querySelector(%q)`, cell(box, field))) {
			t.Fatalf("the cursor is in %s, want %s of %s", ask[string](b, `document.activeElement.name || document.activeElement.tagName`), field, box)
		}
	}
	const left, up, right, down = "\u0302", "\u0304", "\u0303", "\u0301"
	keys := func(keys string) { b.do(chromedp.KeyEvent(keys)) }
	ask[bool](b, fmt.Sprintf(`(document.querySelector(%q).focus(), true)`, cell("S12", "joint")))
	keys("9")
	keys("1") // a cell holds one sign
	keys(right)
	at("S12", "frames")
	keys("0")
	keys(down)
	at("S11", "frames")
	keys(left)
	at("S11", "joint")
	keys("x")
	keys("\r")
	at("S22", "joint") // over the edge of the hive
	keys(right)
	keys(right)
	at("S22", "scraped")
	keys(down)
	at("S21", "scraped") // and not another choice
	keys(up)
	keys(right)
	at("S22", "note")
	keys("ab")
	keys(left)
	at("S22", "note") // within words
	keys(left)
	keys(left)
	at("S22", "scraped")
	keys("a")
	// A note without a degree is not sent, and the cursor is where it lacks.
	b.do(chromedp.Click(chromedp.CSS(".save-bar button")))
	at("S22", "joint")
	if n := c.recorded(); n != 0 {
		t.Fatalf("%d boxes are recorded", n)
	}
	keys("2")
	b.tap(".save-bar button")
	b.shows("3 boxes of Sandpit are written down")
	for name, want := range map[string]scheduler.Opening{
		"S12": {Joint: scheduler.Light, Frames: scheduler.Loose, Scraped: scheduler.ScrapedNone},
		"S11": {Joint: scheduler.Stuck, Frames: scheduler.NotTried, LeftShut: true, Scraped: scheduler.ScrapedNone},
		"S22": {Joint: scheduler.Firm, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedAll, Note: "ab"},
	} {
		want.On = today
		if _, x := c.boxNamed(name); x.OpeningOn(today) == nil || !x.OpeningOn(today).SameAnswers(&want) {
			t.Errorf("%s: %+v, want %+v", name, x.OpeningOn(today), want)
		}
	}
	b.quiet()
}

// sheetOnTwoPages prints the sheet of a visit of twelve boxes, on A4, in the
// language with the longer words, and counts its pages.
func sheetOnTwoPages(t *testing.T, browser context.Context) {
	c, v := serveClub(t).stacks(3, 3, 3, 3)
	c.in(func(tx *store.Tx) error {
		a := c.club().Apiaries[0]
		a.AccessNotes = "Gate code 4711, the key hangs behind the shed; drive around the meadow, never across."
		if _, err := tx.UpdateApiary(context.Background(), a, today); err != nil {
			return err
		}
		tx.Tick(v.UID, []scheduler.Tick{{Step: scheduler.StepLid, HiveID: a.Hives[0].ID, On: today}}, nil)
		return nil
	})
	c.speaks("Edda", "de")
	b := c.open(t, browser, "Edda")
	b.goTo(visitPath(v.UID) + "/sheet")
	b.shows("4711")
	b.shows("Blatt drucken")
	if n := ask[int](b, `document.querySelectorAll(".rows-to-tick tbody tr").length`); n != 12 {
		t.Errorf("%d lines for 12 boxes", n)
	}
	if n := ask[int](b, `document.querySelectorAll(".tickbox.on").length`); n != 1 {
		t.Errorf("%d steps are ticked, want 1", n)
	}
	// The columns that are filled in stand in the order of the grid's.
	heads := `[...document.querySelector("main table%s").querySelectorAll("thead th")].map(th => th.textContent).join("|")`
	sheet := ask[string](b, fmt.Sprintf(heads, ".rows-to-tick"))
	var pdf []byte
	b.do(func(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
		printed, err := cdp.Call(ctx, target, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: 8.27, PaperHeight: 11.69, PreferCSSPageSize: new(true)}) // A4, in inches
		if err == nil {
			pdf = []byte(printed.Data)
		}
		return chromedp.Void{}, err
	})
	if n := strings.Count(string(pdf), "/Type /Page\n"); n < 1 || n > 2 {
		t.Errorf("%d pages for 12 boxes", n)
	}
	b.goTo(visitPath(v.UID) + "/desk")
	grid := strings.Split(ask[string](b, fmt.Sprintf(heads, ".desk")), "|")
	at := 0
	for _, head := range grid[:4] { // the note's is named for what goes into it there
		next := strings.Index(sheet[at:], head)
		if next < 0 {
			t.Errorf("the sheet has %s, the grid %s", sheet, strings.Join(grid, "|"))
			break
		}
		at += next
	}
	b.quiet()
}
