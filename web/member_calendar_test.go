package web

import (
	"context"
	"net/http"
	"testing"
	"time"

	"pryday/store"
)

// TestAnOrganiserEndsACalendarAddress: whoever's it is, of the own club; it is
// asked about where a calendar reads it, and stands in the trail.
func TestAnOrganiserEndsACalendarAddress(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	var link *store.Link
	var token string
	c.in(func(tx *store.Tx) (err error) {
		link, token, err = tx.CreateLink(context.Background(), store.MemberLink, c.member["Brida"], 0, store.LinkOptions{Label: "Old phone"})
		return err
	})
	feed := "/calendar/" + token + ".ics"
	if got := c.stranger().get(feed); got.status != http.StatusOK {
		t.Fatalf("the calendar answers %d", got.status)
	}
	ansel, page, end := c.as("Ansel"), memberPath(c.member["Brida"]), fields("link", itoa(link.ID))
	ansel.get(page).says(http.StatusOK, "Calendar addresses", "Old phone")
	if err := c.store.FlushFetches(context.Background(), []store.Fetch{{ClubID: link.ClubID, LinkID: link.ID, At: time.Now(), Client: "a phone", Count: 1}}); err != nil {
		t.Fatal(err)
	}
	ansel.post(page+"/calendar", end).says(http.StatusUnprocessableEntity, "Revoke the address that Old phone reads?")
	end.Set("sure", "yes")
	ansel.follow(page+"/calendar", end).says(http.StatusOK, "Revoked: the address shows nobody a visit any more").hides("Old phone")
	if l := c.links("Brida"); l[len(l)-1].RevokedAt.IsZero() {
		t.Error("the address still holds")
	}
	ansel.get("/audit").says(http.StatusOK, "revoke calendar address", "Brida Okonjo")

	// It is not one of another member's.
	ansel.post(memberPath(c.member["Corin"])+"/calendar", fields("link", itoa(link.ID), "sure", "yes")).says(http.StatusNotFound)
}
