package web

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// TestAVisitProposesABetterDay: where planning may not move a visit, its page
// says which day would do better, and one tap moves it.
func TestAVisitProposesABetterDay(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	done := c.visit("Quarry")
	var openings []store.BoxOpening
	for _, b := range done.Boxes {
		openings = append(openings, store.BoxOpening{BoxID: b.BoxID, Opening: scheduler.Opening{On: today, Joint: scheduler.Hard, Frames: scheduler.Firm, Scraped: scheduler.ScrapedPart}})
	}
	c.in(func(tx *store.Tx) error {
		_, err := tx.RecordOpenings(context.Background(), openings, today)
		return err
	})
	v := c.visit("Quarry")
	b := c.as("Brida")
	late := v.On + 21
	b.follow(visitPath(v.UID)+"/move", fields("sequence", fmt.Sprint(v.Sequence), "to", late.String(), "sure", "yes"))
	page := b.get(visitPath(v.UID)).says(http.StatusOK, "Planning would choose", "of being hard to open")
	to := page.field("to")
	if to == "" || to >= late.String() {
		t.Fatalf("proposes %q for %s", to, late)
	}
	c.as("Corin").get(visitPath(v.UID)).hides("Planning would choose") // who may not move it
	b.follow(visitPath(v.UID)+"/move", fields("sequence", page.field("sequence"), "to", to, "sure", "yes")).says(http.StatusOK, "stays there")
	if now := c.visitByUID(v.UID); now.On.String() != to {
		t.Errorf("it is on %s", now.On)
	}
	b.get(visitPath(v.UID)).hides("Planning would choose")
}

// TestCancelledUntil: the days to choose from are said, and so is a hard limit
// that falls before.
func TestCancelledUntil(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	b := c.as("Brida")
	path, sequence := visitPath(v.UID), fmt.Sprint(v.Sequence)
	b.get(path).says(http.StatusOK, "for a week, until", "for four weeks, until", "begins, on")
	b.post(path+"/cancel", fields("sequence", sequence, "until", (v.On+7).String())).says(http.StatusUnprocessableEntity, "Nothing is planned for its boxes before")
	far := today + scheduler.HorizonDays - 5
	limit := scheduler.HardLimit(c.club(), &v, today)
	if limit == 0 || limit >= far {
		t.Fatalf("the demonstration club has no limit before %s: %s", far, limit)
	}
	b.post(path+"/cancel", fields("sequence", sequence, "until-day", far.String())).
		says(http.StatusUnprocessableEntity, "by "+text.In("en", "").Day(limit), "the rules ask for an opening")
	b.post(path+"/cancel", fields("sequence", sequence, "until-day", (today+5000).String())).says(http.StatusUnprocessableEntity)
}

// TestAnUnansweredVisitAsks: its page has the answers of the mail.
func TestAnUnansweredVisitAsks(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	c.in(func(tx *store.Tx) error {
		_, err := tx.MoveVisit(context.Background(), v.ID, v.Sequence, today, today)
		return err
	})
	c.in(func(tx *store.Tx) error {
		_, err := tx.Replan(context.Background(), v.ApiaryID, today+1)
		return err
	})
	if now := c.visitByUID(v.UID); now.Status != scheduler.Unanswered {
		t.Fatalf("it is %s", now.Status)
	}
	page := c.as("Brida").get(visitPath(v.UID)).says(http.StatusOK, "Did you go?", "All opened, no trouble", "Some were hard", "Not yet", "Cancel the visit")
	_, rest, _ := strings.Cut(page.body, `href="/act/`)
	token, _, _ := strings.Cut(rest, `"`)
	c.stranger().get("/act/"+token).says(http.StatusOK, "Quarry")
}

// TestWhoWasNotExpectedCannotGo: they are not told that they are off.
func TestWhoWasNotExpectedCannotGo(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	b := c.as("Corin")
	b.follow(visitPath(v.UID)+"/leave", fields("sequence", fmt.Sprint(v.Sequence))).
		says(http.StatusOK, "It is noted that you cannot go to Quarry").hides("You are off the visit")
}

// TestWhoIsOnlyExpected: pages say who goes by their own word.
func TestWhoIsOnlyExpected(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	v := c.visit("Quarry")
	path, sequence := visitPath(v.UID), fmt.Sprint(v.Sequence)
	c.as("Brida").get(path).says(http.StatusOK, "You are expected. Nobody has said so yet: do you go?").hides("You go, alone")
	c.as("Corin").get(path).says(http.StatusOK, "Nobody has said so yet; expected: Brida Okonjo.")
	c.as("Brida").follow(path+"/take", fields("sequence", sequence)).says(http.StatusOK, "You go, alone")
	c.as("Corin").get(path).says(http.StatusOK, "Brida Okonjo goes.")
}
