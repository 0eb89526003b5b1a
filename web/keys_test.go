package web

import (
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"pryday/notify"
	"pryday/scheduler/text"
	"pryday/store"
	"pryday/testdata/testrun"
)

// TestNewKeys: the running service signs with a new key as soon as there is one,
// mailed buttons work as long as was said, and calendar addresses and sessions
// need none.
func TestNewKeys(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	brida, feed := c.as("Brida"), c.feedOf("Brida")
	button := regexp.MustCompile(`/act/([A-Za-z0-9_-]+)`)
	inFeed := func() string {
		t.Helper()
		m := button.FindStringSubmatch(strings.ReplaceAll(c.stranger().get(feed).says(http.StatusOK, "BEGIN:VEVENT").body, "\r\n ", ""))
		if m == nil {
			t.Fatal("the calendar has no button")
		}
		return "/act/" + m[1]
	}
	// What is signed is the same each time, so that only the key makes a difference.
	same := notify.Action{Do: notify.GoDeed, Club: c.id, Member: c.member["Brida"], VisitUID: v.UID, Expires: time.Now().Add(time.Hour)}
	rotate := func(keep time.Duration) {
		t.Helper()
		before, shown := c.notify.Signer().Sign(same), inFeed()
		if _, err := store.RotateKeys(t.Context(), c.database, keep, text.New("command.keys.ended")); err != nil {
			t.Fatal(err)
		}
		testrun.Until(t, "the service signs with the new key", func() bool {
			return c.notify.Signer().Sign(same) != before && inFeed() != shown
		})
	}
	mailed, subscribed := c.act(notify.CantGoDeed, "Brida", v), inFeed()
	rotate(time.Hour)
	c.stranger().get(mailed).says(http.StatusOK, "Quarry")
	c.stranger().get(subscribed).says(http.StatusOK, "Quarry")
	brida.get("/").says(http.StatusOK)
	newly, later := inFeed(), c.act(notify.CantGoDeed, "Brida", v)

	c.asOwner(`UPDATE secret SET ends_at = now() WHERE ends_at IS NOT NULL`) // the hour is over
	if err := c.store.ReloadKeys(t.Context()); err != nil {
		t.Fatal(err)
	}
	c.stranger().get(mailed).says(http.StatusGone)
	c.stranger().get(subscribed).says(http.StatusGone)
	c.stranger().get(later).says(http.StatusOK, "Quarry")
	c.stranger().get(newly).says(http.StatusOK, "Quarry")
	brida.get("/").says(http.StatusOK)

	rotate(0)
	c.stranger().get(later).says(http.StatusGone)
	c.stranger().get(inFeed()).says(http.StatusOK, "Quarry")
	brida.get("/").says(http.StatusOK)
}

// Who follows the sign-in address of a mail once more, where it signed them in, gets to
// the pages; elsewhere it is spent.
func TestSpentSignInAddress(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	token, err := c.store.NewSignIn(t.Context(), c.person["Ansel"], time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	b, path := c.stranger(), "/sign-in/"+token
	b.post(path, nil).says(http.StatusSeeOther)
	if again := b.get(path); again.status != http.StatusSeeOther || again.header.Get("Location") != "/" {
		t.Errorf("answered %d, to %q", again.status, again.header.Get("Location"))
	}
	b.post(path, nil).says(http.StatusGone)
	c.stranger().get(path).says(http.StatusGone, "used or is too old")
	b.get("/sign-in/" + strings.Repeat("a", len(token))).says(http.StatusGone)
}
