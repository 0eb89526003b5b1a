package web

import (
	"context"
	"fmt"
	"html"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// inOrder fails unless a page says the texts one after the other.
func (a *answer) inOrder(texts ...string) {
	a.t.Helper()
	rest := html.UnescapeString(a.text())
	for _, s := range texts {
		_, after, found := strings.Cut(rest, s)
		if !found {
			a.t.Errorf("%q does not come in the order of %q: %s", s, texts, cutTo(a.text(), 1500))
			return
		}
		rest = after
	}
}

// A keeper sees their own next visit first, an organiser what nobody goes to.
func TestHomeAnswersWhatToDoNext(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	brida := c.as("Brida")
	brida.get("/").inOrder("Old Mill Beekeepers", "Your next visit", "Quarry", "You are expected", "Getting in: gate code 4711 at Quarry", "I'll go", "About to lock, and nobody is going", "Orchard", "Everything else:", "The year")
	c.as("Ansel").get("/").inOrder("About to lock, and nobody is going", "Orchard", "I'll go", "The club's next visit", "Quarry", "See the visit", "Everything else:")
	c.as("Corin").get("/").inOrder("Nothing for you now", "You are not expected", "About to lock", "Orchard", "Everything else:", "Quarry")

	brida.follow(visitPath(v.UID)+"/take", fields("sequence", fmt.Sprint(v.Sequence), "then", "home")).
		inOrder("Your next visit", "Quarry", "today", "You go, alone", "Record what you found", "About to lock")
	v = c.visit("Quarry")
	brida.follow(visitPath(v.UID)+"/move", fields("sequence", fmt.Sprint(v.Sequence), "to", (today+4).String(), "sure", "yes"))
	brida.get("/").inOrder("Your next visit", "Quarry", "in 4 days", "You go, alone", "See what to bring", "About to lock")
}

// What is far off is still the next visit of whoever has none sooner.
func TestHomeFindsAFarVisit(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida := c.as("Brida")
	for _, name := range []string{"Q11", "Q21"} {
		h, _ := c.boxNamed(name)
		brida.follow("/hive/"+itoa(h.ID)+"/leave", fields("from", today.String(), "until", (today+60).String(), "reason", "queen cells")).says(http.StatusOK)
	}
	v := c.visit("Quarry")
	if v.On <= today+homeDays {
		t.Fatalf("the visit is on %v", v.On)
	}
	brida.get("/").inOrder("Your next visit", "Quarry", v.On.Format("Monday 2 January 2006"), "Everything else:")
}

// nextFromHome is the next thing to do in one tap, on a phone and on a wide
// screen, in English and in German.
func nextFromHome(t *testing.T, browser context.Context) {
	for _, row := range []struct {
		width          int64
		language, goes string
	}{{360, "en", "You go to Quarry"}, {1280, "de", "Du fährst am Dienstag, 1. Juni 2027"}, {1280, "en", "You go to Quarry"}, {360, "de", "Du fährst am Dienstag, 1. Juni 2027"}} {
		c := serveClub(t)
		v := c.visit("Quarry")
		c.speaks("Brida", row.language)
		b := c.open(t, browser, "Brida")
		b.do(chromedp.EmulateViewport(row.width, 740))
		b.goTo("/")
		b.tap(".next button")
		b.shows(row.goes)
		if got := c.visitByUID(v.UID); !got.IsTakenBy(c.member["Brida"]) || b.taps != 1 {
			t.Errorf("%d px, %s: after %d taps %v go", row.width, row.language, b.taps, got.Taken)
		}
		if bad := ask[string](b, tooWide); bad != "" {
			t.Errorf("%d px, %s: too wide: %s", row.width, row.language, bad)
		}
		b.quiet()
	}
}

// Home offers a calendar address to whoever has none that holds.
func TestHomeOffersACalendar(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	brida := c.as("Brida")
	brida.get("/").says(200, "Put the visits into your calendar.", "Get a calendar address")
	brida.post("/links", fields("label", "phone", "kind", "club")).says(200)
	brida.get("/").hides("Put the visits into your calendar.")
	c.as("Ansel").get("/").says(200, "Put the visits into your calendar.")
	brida.follow("/links/"+itoa(c.links("Brida")[0].ID)+"/revoke", fields("sure", "yes")).says(200)
	brida.get("/").says(200, "Put the visits into your calendar.")
}
