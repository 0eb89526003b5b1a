package web

import (
	"context"
	"crypto/sha256"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/owed"
	"pryday/store"
)

// cameIn records a mail that came in, and what became of it.
func (c *testClub) cameIn(member string, message int64, outcome store.MailOutcome, content store.MailContent) {
	c.t.Helper()
	c.in(func(tx *store.Tx) error {
		ctx := context.Background()
		digest := sha256.Sum256([]byte(member + content.Body + string(outcome)))
		id, _, err := tx.TakeMail(ctx, store.InboundMail{
			Digest: digest[:], Purpose: store.ReplyMail, MemberID: c.member[member], MessageID: message, Address: "bees+x@example.org", Raw: []byte("x"),
		})
		if err != nil || outcome == "" {
			return err
		}
		return tx.MailHandled(ctx, id, outcome, content)
	})
}

// What came back stands on the messages page: all of it for organisers, their
// own for keepers, nothing where nothing did.
func TestMessagesShowWhatCameBack(t *testing.T) {
	c := serveClub(t)
	ctx := context.Background()
	ansel, brida := c.as("Ansel"), c.as("Brida")
	ansel.get("/messages").says(200).hides("What came back")
	var visit store.VisitRecord
	c.in(func(tx *store.Tx) error {
		all, err := tx.Visits(ctx, store.VisitFilter{OpenOnly: true})
		if err == nil {
			visit = all[0]
		}
		return err
	})
	c.cameIn("Brida", 0, store.MailKept, store.MailContent{VisitID: visit.ID, Body: "The gate is <b>stuck</b>.\nWho has oil?", FromEmail: "brida@elsewhere.example", Detail: "nobody"})
	c.cameIn("Ansel", 0, store.MailTold, store.MailContent{Detail: owed.AnswerMoved, FromEmail: "ansel@example.org"})
	c.cameIn("Corin", 0, "", store.MailContent{})
	c.oweMessage("Brida", "x", scheduler.DayMessage, func(tx *store.Tx, id int64) error {
		if err := tx.Delivered(ctx, id, "250 ok"); err != nil {
			return err
		}
		return tx.MessageReturned(ctx, id, store.ReturnedFailed, "550 5.2.2 mailbox full")
	})
	ansel.get("/messages").says(200, "What came back", "Who has oil?", "kept here", "from brida@elsewhere.example",
		"the visit was on another day by then", "being read", "came back undelivered", "550 5.2.2 mailbox full").hides("from ansel@example.org", "<b>stuck")
	brida.get("/messages").says(200, "The gate is", "550 5.2.2 mailbox full").hides("another day by then", "being read")
	c.as("Dorrit").get("/messages").says(200).hides("What came back")
}

// Invitations are offered where calendars' answers are taken in.
func TestInvitationsAreOffered(t *testing.T) {
	serveClub(t).as("Brida").get("/preferences").says(200).hides("invitations")
	c := serveClub(t, "bees@example.org")
	brida := c.as("Brida")
	invited := func() (is bool) {
		c.in(func(tx *store.Tx) error {
			m, err := tx.Member(context.Background(), c.member["Brida"])
			is = err == nil && m.Prefs.Invitations
			return err
		})
		return is
	}
	brida.get("/preferences").says(200, "Send visits as invitations")
	form := fields("name", "Brida Okonjo", "language", "", "units", "mm")
	for _, want := range []bool{true, false} {
		form.Del("invitations")
		if want {
			form.Set("invitations", "on")
		}
		brida.follow("/preferences", form).says(200, "Saved.")
		if invited() != want {
			t.Errorf("invited: %t", !want)
		}
	}
}
