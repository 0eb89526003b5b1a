package web

import (
	"context"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/scheduler/text"
	"pryday/store"
)

// oweMessage records a message and what became of it.
func (c *testClub) oweMessage(member, key string, kind scheduler.MessageKind, then func(*store.Tx, int64) error) {
	c.t.Helper()
	c.in(func(tx *store.Tx) error {
		ctx := context.Background()
		if _, err := tx.Owe(ctx, []owed.Message{{Key: key, Kind: kind, MemberID: c.member[member], On: today, Reason: owed.BecauseToday}}, time.Time{}); err != nil {
			return err
		}
		m, err := tx.MessageByKey(ctx, key)
		if err == nil && then != nil {
			err = then(tx, m.ID)
		}
		return err
	})
}

func TestMessagesSayWhatBecameOfThem(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ctx := context.Background()
	c.oweMessage("Ansel", "a", scheduler.DayMessage, func(tx *store.Tx, id int64) error { return tx.Delivered(ctx, id, "250 queued as 17") })
	c.oweMessage("Brida", "b", scheduler.DayMessage, func(tx *store.Tx, id int64) error {
		return tx.Refused(ctx, id, `550 <brida@example.org> "no such user" & <script>alert(1)</script>`)
	})
	c.oweMessage("Brida", "c", scheduler.DigestMessage, nil)
	if err := c.store.MarkRefused(ctx, c.person["Brida"], "brida@example.org", "550 no such user"); err != nil {
		t.Fatal(err)
	}
	ansel := c.as("Ansel")
	ansel.get("/messages").says(200, "kept for 400 days", "250 queued as 17", "delivered", "refused", "no such user", "waiting to go out", "the visit was on this day").hides("<script>alert")
	ansel.get("/messages?state=sent").says(200, "250 queued as 17").hides("visits to come, 1 June")
	ansel.get("/messages?kind=digest&member="+itoa(c.member["Brida"])).says(200, "visits to come, 1 June").hides("250 queued as 17")
	ansel.get("/messages?state=given-up").says(200, "No message is like that")
	// Keepers see their own, whatever they ask for.
	brida := c.as("Brida")
	brida.get("/messages").says(200, "no such user", "Let mail go to Brida Okonjo again").hides("250 queued as 17")
	brida.get("/messages?member="+itoa(c.member["Ansel"])).says(200, "no such user").hides("250 queued as 17")
	c.as("Corin").get("/messages").says(200, "No mail was owed yet").hides("no such user")
	c.as("Dorrit").get("/messages").says(200, "No mail was owed yet")

	c.as("Corin").post("/messages/clear", fields("member", itoa(c.member["Brida"]))).says(403)
	c.as("Dorrit").post("/messages/clear", fields("member", itoa(c.member["Brida"]))).says(404)
	if p, err := c.store.Person(ctx, c.person["Brida"]); err != nil || p.RefusedAt.IsZero() {
		t.Fatalf("somebody else cleared the address: %v", err)
	}
	brida.follow("/messages/clear", fields("member", itoa(c.member["Brida"]))).says(200, "Mail goes to Brida Okonjo again").hides("gets no mail")
	if p, err := c.store.Person(ctx, c.person["Brida"]); err != nil || !p.RefusedAt.IsZero() {
		t.Errorf("the address is still refused: %v", err)
	}
}

func TestMessagesPageOn(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	for i := range messageLines + 3 {
		c.oweMessage("Ansel", "key "+itoa(int64(i)), scheduler.DayMessage, nil)
	}
	page := c.as("Ansel").get("/messages?kind=day").says(200, "Older")
	if page.header.Get("Cache-Control") != "private, no-store" {
		t.Error("the page may be kept")
	}
	var all []store.Message
	c.in(func(tx *store.Tx) (err error) {
		all, err = tx.Messages(context.Background(), store.MessageFilter{})
		return err
	})
	older := c.as("Ansel").get("/messages?before=" + itoa(all[messageLines-1].ID) + "&kind=day").says(200)
	if got := strings.Count(older.body, `class="is-owed"`); got != 3 {
		t.Errorf("%d messages on the page after, want 3", got)
	}
}

// Every kind of message has a word and can be asked for.
func TestMessageKindsCanBeChosen(t *testing.T) {
	t.Parallel()
	source, err := os.ReadFile("../scheduler/message_kind.go")
	if err != nil {
		t.Fatal(err)
	}
	kinds := regexp.MustCompile(`MessageKind = "([^"]+)"`).FindAllSubmatch(source, -1)
	if len(kinds) < 10 {
		t.Fatalf("only %d kinds were found", len(kinds))
	}
	for _, m := range kinds {
		kind := scheduler.MessageKind(m[1])
		if !slices.Contains(messageKinds, kind) || !text.Has(kind.WordKey()) {
			t.Errorf("messages of kind %s cannot be chosen, or have no word", kind)
		}
	}
}
