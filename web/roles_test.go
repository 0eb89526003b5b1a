package web

import (
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pryday/notify"
)

// TestEveryPageByRole asks for every page and every change in every role. The
// changes are sent with a body that would be refused, so that whoever may send
// them learns so before anything changes.
func TestEveryPageByRole(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	h, box := c.boxNamed("Q11")
	hive, visit, apiary := "/hive/"+itoa(h.ID), visitPath(v.UID), fmt.Sprintf("/apiary/%d", v.ApiaryID)
	browsers := map[string]*browser{
		"organiser": c.as("Ansel"), "keeper of it": c.as("Brida"), "another keeper": c.as("Corin"), "another club": c.as("Dorrit"), "nobody": c.stranger(),
	}
	const (
		ok      = http.StatusOK
		signIn  = http.StatusSeeOther
		refused = http.StatusForbidden
		unknown = http.StatusNotFound
		bad     = http.StatusUnprocessableEntity
		stale   = http.StatusConflict
	)
	type row struct {
		method, path                                     string
		organiser, keeper, other, otherClub, nobodyAtAll int
	}
	for _, r := range []row{
		{"GET", "/", ok, ok, ok, ok, signIn},
		{"GET", "/month", ok, ok, ok, ok, signIn},
		{"GET", "/year", ok, ok, ok, ok, signIn},
		{"GET", "/day", ok, ok, ok, ok, signIn},
		{"GET", "/guide", ok, ok, ok, ok, ok},
		{"GET", "/guide/dates", ok, ok, ok, ok, ok},
		{"GET", "/guide/dates?box=" + itoa(box.ID), ok, ok, ok, unknown, ok},
		{"GET", visit, ok, ok, ok, unknown, signIn},
		{"GET", visit + "/sheet", ok, ok, ok, unknown, signIn},
		{"POST", visit, signIn, signIn, signIn, unknown, signIn}, // leads back to it
		{"GET", visit + "/desk", ok, ok, ok, unknown, signIn},
		{"POST", visit + "/desk", bad, bad, bad, unknown, signIn},
		{"GET", apiary + "/desk", ok, ok, ok, unknown, signIn},
		{"POST", apiary + "/desk", bad, bad, bad, unknown, signIn},
		{"GET", visit + "/record", ok, ok, ok, unknown, signIn},
		{"POST", visit + "/record", unknown, unknown, unknown, unknown, signIn},
		{"POST", visit + "/take", stale, stale, stale, unknown, signIn},
		{"POST", visit + "/leave", stale, stale, stale, unknown, signIn},
		{"POST", visit + "/finish", bad, bad, bad, unknown, signIn}, // asks first
		{"POST", visit + "/who", stale, stale, refused, unknown, signIn},
		{"POST", visit + "/move", bad, bad, refused, unknown, signIn},
		{"POST", visit + "/pin", stale, stale, refused, unknown, signIn},
		{"POST", visit + "/unpin", stale, stale, refused, unknown, signIn},
		{"POST", visit + "/cancel", bad, bad, refused, unknown, signIn},
		{"POST", visit + "/take-off", unknown, unknown, refused, unknown, signIn},
		{"POST", visit + "/leave-in", unknown, unknown, refused, unknown, signIn},
		{"POST", visit + "/nothing", unknown, unknown, unknown, unknown, signIn},
		{"GET", "/apiaries", ok, ok, ok, ok, signIn},
		{"GET", "/map", ok, ok, ok, ok, signIn},
		{"GET", "/map/near.svg?at=48.2,16.3&km=16", ok, ok, ok, ok, signIn},
		{"GET", "/places/near.svg?at=48.2,16.3&km=16", ok, ok, ok, ok, ok},
		{"GET", "/places?q=Wien", ok, ok, ok, ok, ok},
		{"GET", "/places/source", ok, ok, ok, ok, ok},
		{"GET", "/apiaries/new", ok, refused, refused, ok, signIn},
		{"POST", "/apiaries", bad, refused, refused, bad, signIn},
		{"GET", apiary, ok, ok, ok, unknown, signIn},
		{"POST", apiary + "/save", bad, bad, refused, unknown, signIn},
		{"GET", hive + "/colony", ok, ok, refused, unknown, signIn},
		{"GET", hive + "/colony/split", ok, ok, refused, unknown, signIn},
		{"GET", hive + "/colony/moved", ok, refused, refused, unknown, signIn},
		{"GET", hive + "/colony/stolen", unknown, unknown, refused, unknown, signIn},
		{"POST", hive + "/colony/died", bad, bad, refused, unknown, signIn},
		{"POST", hive + "/colony/moved", bad, refused, refused, unknown, signIn},
		{"GET", hive + "/change", ok, ok, refused, unknown, signIn},
		{"POST", apiary + "/keepers", signIn, refused, refused, unknown, signIn}, // last: it takes Brida off
		{"GET", hive, ok, ok, ok, unknown, signIn},
		{"GET", boxPath(box.ID), ok, ok, ok, unknown, signIn},
		{"GET", hive + "/record", ok, ok, ok, unknown, signIn},
		{"POST", hive + "/record", unknown, unknown, unknown, unknown, signIn},
		{"GET", "/find?q=Quarry", ok, ok, ok, ok, signIn},
		{"GET", "/photo/" + uuid.NewString(), unknown, unknown, unknown, unknown, signIn},
		{"GET", "/repairs", ok, ok, ok, ok, signIn},
		{"GET", "/preferences", ok, ok, ok, ok, signIn},
		{"POST", "/preferences", bad, bad, bad, bad, signIn},
		{"GET", "/preferences/data", ok, ok, ok, ok, signIn},
		{"GET", "/preferences/erase", ok, ok, ok, ok, signIn},
		{"POST", "/preferences/erase", bad, bad, bad, bad, signIn},
		{"GET", "/invitations", ok, ok, ok, ok, signIn},
		{"POST", "/invitations/999999/accept", unknown, unknown, unknown, unknown, signIn},
		{"GET", "/sign-ins", ok, ok, ok, ok, signIn},
		{"POST", "/sign-ins/999999/end", bad, bad, bad, bad, signIn}, // asks first
		{"POST", "/preferences/away", bad, bad, bad, bad, signIn},
	} {
		for name, want := range map[string]int{
			"organiser": r.organiser, "keeper of it": r.keeper, "another keeper": r.other, "another club": r.otherClub, "nobody": r.nobodyAtAll,
		} {
			if strings.HasSuffix(r.path, "/keepers") && name == "keeper of it" {
				continue
			}
			got := browsers[name].send(r.method, r.path, fields("sequence", "999"), nil)
			if got.status != want {
				t.Errorf("%s %s as %s: %d, want %d: %s", r.method, r.path, name, got.status, want, cutTo(got.text(), 300))
			}
			if want == signIn && name == "nobody" && got.header.Get("Location") != "/sign-in" {
				t.Errorf("%s %s as %s leads to %s", r.method, r.path, name, got.header.Get("Location"))
			}
		}
	}
	for deed := range hiveDeeds {
		for name, want := range map[string]int{"another keeper": refused, "another club": unknown, "nobody": signIn} {
			if got := browsers[name].post(hive+"/"+deed, fields("box", itoa(box.ID))); got.status != want {
				t.Errorf("POST %s/%s as %s: %d, want %d", hive, deed, name, got.status, want)
			}
		}
	}
	for deed := range apiaryDeeds {
		for name, want := range map[string]int{"another keeper": refused, "another club": unknown, "nobody": signIn} {
			if got := browsers[name].post(apiary+"/"+deed, fields()); got.status != want {
				t.Errorf("POST %s/%s as %s: %d, want %d", apiary, deed, name, got.status, want)
			}
		}
	}
}

// TestForeignOriginsChangeNothing sends what a page of another site can make
// a member's browser send.
func TestForeignOriginsChangeNothing(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	h, box := c.boxNamed("Q11")
	b := c.as("Ansel")
	before := fmt.Sprint(c.club())
	for _, path := range []string{
		visitPath(v.UID) + "/take", visitPath(v.UID) + "/finish", visitPath(v.UID) + "/record", "/hive/" + itoa(h.ID) + "/record",
		"/hive/" + itoa(h.ID) + "/save", fmt.Sprintf("/apiary/%d/save", v.ApiaryID), "/apiaries", "/preferences", "/preferences/away", "/preferences/erase", "/sign-ins/999999/end",
		"/sign-out", "/sign-out-everywhere", "/sign-in", c.act(notify.CantGoDeed, "Brida", v), c.act(notify.OpenedDeed, "Brida", v),
	} {
		got := b.send("POST", path, recordForm(box, uuid.NewString(), "sequence", fmt.Sprint(v.Sequence)),
			map[string]string{"Origin": "https://evil.example", "Sec-Fetch-Site": "cross-site"})
		if got.status != http.StatusForbidden {
			t.Errorf("POST %s from a foreign origin: %d", path, got.status)
		}
	}
	if fmt.Sprint(c.club()) != before {
		t.Error("a foreign origin changed records")
	}
	if got := b.get("/"); got.status != http.StatusOK {
		t.Error("a foreign origin signed somebody out")
	}
}

func TestHeadersOfEveryPage(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	h, _ := c.boxNamed("Q11")
	for _, path := range []string{
		"/", "/sign-in", "/nothing-here", visitPath(v.UID), visitPath(v.UID) + "/record", visitPath(v.UID) + "/sheet",
		"/hive/" + itoa(h.ID), fmt.Sprintf("/apiary/%d", v.ApiaryID), "/rules", "/month", "/year", "/guide", "/guide/dates", "/guide/calendars", c.act(notify.OpenedDeed, "Brida", v),
	} {
		got := c.as("Ansel").get(path)
		for name, want := range map[string]string{
			"Referrer-Policy": "same-origin", "X-Content-Type-Options": "nosniff", "Cache-Control": "private, no-store",
		} {
			if got.header.Get(name) != want {
				t.Errorf("%s: %s is %q, want %q", path, name, got.header.Get(name), want)
			}
		}
		if csp := got.header.Get("Content-Security-Policy"); !strings.Contains(csp, "default-src 'none'") || strings.Contains(csp, "unsafe") {
			t.Errorf("%s: %s", path, csp)
		}
		if strings.Contains(got.body, " style=") || strings.Contains(got.body, "<style") || strings.Contains(got.body, " onclick=") {
			t.Errorf("%s has style or script in the page, which its policy blocks", path)
		}
		weight := len(got.body)
		for _, m := range regexp.MustCompile(`/assets/[^"]+`).FindAllString(got.body, -1) {
			asset := c.stranger().get(m).says(http.StatusOK)
			if cache := asset.header.Get("Cache-Control"); !strings.Contains(cache, "immutable") {
				t.Errorf("%s may be kept %q", m, cache)
			}
			weight += len(asset.body)
		}
		if weight > 100<<10 {
			t.Errorf("%s weighs %d kB with all that it needs", path, weight>>10)
		}
	}
}
