package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/google/uuid"

	"pryday/scheduler"
	"pryday/store"
)

func findPath(typed string) string { return "/find?" + url.Values{"q": {typed}}.Encode() }

func TestFindWhatSomebodyTypes(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, box := c.boxNamed("Q13")
	b := c.as("Brida")
	b.follow("/hive/"+itoa(h.ID)+"/record", recordForm(box, uuid.NewString(), "note", "100% Propolis, like toffee_1")).says(http.StatusOK)
	b.get("/").holds(`<form method="get" action="/find" role="search"`)

	for _, mark := range []string{"Q13", " q13 "} {
		if to := b.get(findPath(mark)).says(http.StatusSeeOther).header.Get("Location"); to != boxPath(box.ID) {
			t.Errorf("%q leads to %q, want its box", mark, to)
		}
	}
	b.get(findPath("q1")).says(http.StatusOK, "Boxes", "Q11", "Q12", "Q13", "deep, on Quarry hive 1, Quarry").hides("Q21", "O11")
	b.get(findPath("quarry")).inOrder("Hives", "Quarry hive 1", "Quarry hive 2", "Apiaries", "Quarry")
	b.get(findPath("okonjo")).says(http.StatusOK, "People", "Brida Okonjo")
	b.get(findPath("TOFFEE")).says(http.StatusOK, "Notes, the newest first", "Q13, 1 June 2027", "like toffee_1").holds(boxPath(box.ID) + "#on-2027-06-01")
	b.get(findPath("100%")).says(http.StatusOK, "100% Propolis")
	for _, typed := range []string{"%", "_", `\`} { // which stand for something else in some searches
		if got := b.get(findPath(typed)); typed != "%" && typed != "_" && !strings.Contains(got.text(), "Nothing here is called") || strings.Contains(got.text(), "Quarry hive") {
			t.Errorf("%q finds %s", typed, cutTo(got.text(), 900))
		}
	}
	b.get(findPath(`<b>"x`)).says(http.StatusOK, "Nothing here is called &lt;b&gt;&#34;x")
	b.get("/find").says(http.StatusOK, "Type the mark painted on a box")
	b.get("/find?q=a"+strings.Repeat("x", 5000)).says(http.StatusOK, "Nothing here is called axxx")
	b.get("/find?q=a%00%ff").says(http.StatusBadRequest, "Unreadable characters")

	// A corrected note is not found any more.
	_, box = c.boxNamed("Q13")
	b.follow("/hive/"+itoa(h.ID)+"/record", recordForm(box, uuid.NewString(), "supersedes", box.OpeningOn(today).ID, "note", "treacle")).says(http.StatusOK)
	b.get(findPath("toffee")).says(http.StatusOK, "Nothing here is called toffee")
	b.get(findPath("treacle")).says(http.StatusOK, "Q13, 1 June 2027")
	c.as("Dorrit").get(findPath("Q13")).says(http.StatusOK, "Nothing here is called Q13")
	c.as("Dorrit").get(findPath("treacle")).says(http.StatusOK, "Nothing here is called treacle")
}

// A mark that two boxes have, or a hive as well, leads to neither.
func TestFindSeveralOfOneMark(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	h, _ := c.boxNamed("Q21")
	b := c.as("Brida")
	for _, name := range []string{"7", "77"} {
		b.follow("/hive/"+itoa(h.ID)+"/box-add", fields("name", name, "kind", "deep", "where", "top", "set_up_on", today.String())).says(http.StatusOK)
	}
	b.get(findPath("7")).says(http.StatusSeeOther)
	b.follow("/hive/"+itoa(h.ID)+"/save", fields("name", "7", "bee_space", "")).says(http.StatusOK)
	b.get(findPath("7")).inOrder("Boxes", "7", "deep, on Hive 7, Quarry", "77", "Hives", "7")

	for _, name := range []string{"M10", "M2"} {
		b.follow("/hive/"+itoa(h.ID)+"/box-add", fields("name", name, "kind", "deep", "where", "top", "set_up_on", today.String())).says(http.StatusOK)
	}
	b.get(findPath("m")).inOrder("Boxes", "M2", "M10")

	var spare int64
	c.in(func(tx *store.Tx) (err error) {
		spare, _, err = tx.AddBox(context.Background(), 0, 0, scheduler.Box{Name: "LOST-3", Kind: "deep", SetUpOn: today - 5}, today)
		return err
	})
	b.get(findPath("lost")).says(http.StatusOK, "LOST-3", "in store").holds(boxPath(spare))
	if to := b.get(findPath("lost-3")).says(http.StatusSeeOther).header.Get("Location"); to != boxPath(spare) {
		t.Errorf("led to %q", to)
	}
}

func TestFindInTwoLanguages(t *testing.T) {
	t.Parallel()
	c := serveWordless(t)
	c.inBoth("Brida", findPath("Q")).says(http.StatusOK, "Zargen", "Völker", "Stände")
	c.inBoth("Brida", findPath("Note")).says(http.StatusOK, "Notizen, die neuesten zuerst")
	c.inBoth("Brida", findPath("nowhere")).says(http.StatusOK, "Nichts heißt hier nowhere")
	c.inBoth("Brida", "/find").says(http.StatusOK, "Tipp das aufgemalte Zeichen")
}

// findABox goes from any page to a box by its mark, with a script and without.
func findABox(t *testing.T, browser context.Context) {
	c := serveClub(t)
	for _, row := range []struct {
		width        int64
		language     string
		script       bool
		says, search string
	}{
		{360, "en", true, "Box Q21", "Find"},
		{1280, "en", false, "Box Q21", "Find"},
		{360, "de", false, "Zarge Q21", "Suchen"},
		{1280, "de", true, "Zarge Q21", "Suchen"},
	} {
		c.speaks("Corin", row.language)
		b := c.open(t, browser, "Corin")
		b.do(chromedp.EmulateViewport(row.width, 740))
		call(b, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !row.script})
		b.goTo("/apiaries")
		if label := ask[string](b, `document.querySelector(".seek button").innerText`); label != row.search {
			t.Errorf("%d px, %s: the button says %q", row.width, row.language, label)
		}
		b.write(".seek input", "q21")
		b.do(chromedp.KeyEvent("\r"))
		b.until(fmt.Sprintf(`document.querySelector("h1").innerText.startsWith(%q)`, row.says))
		if bad := ask[string](b, tooWide); bad != "" {
			t.Errorf("%d px, %s: too wide: %s", row.width, row.language, bad)
		}
		b.quiet()
	}
}
