package web

import (
	"context"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

// Codes and what they mean are of RFC 3463 (section 3), RFC 7505 (5.1.10), RFC 7372
// (5.7.25) and, without an enhanced one, RFC 5321 (section 4.2.3); the servers' words
// around them are invented.
func TestRepliesInWords(t *testing.T) {
	t.Parallel()
	english := &text.Speaker{}
	for _, row := range []struct{ reply, why, do string }{
		{"550 5.1.1 <ines@example.org>: user unknown", "there is no such mailbox", askAddress},
		{"552 5.2.2 The account is over quota", "mailbox full", askRoom},
		{"452-4.2.2 over quota", "mailbox full", askRoom},
		{"5.1.10 Recipient address has null MX", "there is no such mail server, so what stands after the @ is wrong", askAddress},
		{"550-5.7.25 no PTR for [192.0.2.7]", "it cannot tell that the mail is really ours", tellOperator},
		{"550 5.7.1 looks like spam", "it takes the mail for unwanted", askAllow},
		{"550 5.7.999 policy", "it takes the mail for unwanted", askAllow},
		{"535 5.7.8 bad credentials", "our mail server does not let this service in", tellOperator},
		{"554 5.4.6 too many hops", "the mail went round in a circle", tellOperator},
		{"451 4.3.2 try later (data)", "the server has trouble of its own", tellOperator},
		{"550 no such user", "there is no such mailbox", askAddress},
		{"552 too much", "mailbox full", askRoom},
		{"450 4.7.1 grey-listed from 192.4.2.2", "it takes the mail for unwanted", askAllow},
		{"250 2.0.0 queued as 5.2.2", "", ""},
		{"connect to 192.5.2.2:25: refused", "", ""},
		{"the address is none", "", ""},
		{"", "", ""},
	} {
		means, ok := meaningOf(row.reply)
		if ok != (row.why != "") || ok && (english.Say(means.why) != row.why || means.do != row.do) {
			t.Errorf("%q means %q and to do %q, want %q, %q", row.reply, english.Say(means.why), means.do, row.why, row.do)
		}
	}
}

// The page says what a refusal means and what to do, and what was said behind it.
func TestMessagesSpeakToASecretary(t *testing.T) {
	t.Parallel()
	c := serveWordless(t)
	ctx := context.Background()
	c.oweMessage("Brida", "a", scheduler.DayMessage, func(tx *store.Tx, id int64) error { return tx.Refused(ctx, id, "552 5.2.2 over quota") })
	c.oweMessage("Corin", "b", scheduler.DayMessage, func(tx *store.Tx, id int64) error { return tx.TryFailed(ctx, id, "451 4.3.0 later (data)") })
	c.oweMessage("Ansel", "c", scheduler.DayMessage, func(tx *store.Tx, id int64) error { return tx.Delivered(ctx, id, "250 queued") })
	c.oweMessage("Ansel", "d", scheduler.DigestMessage, func(tx *store.Tx, id int64) error {
		if err := tx.Delivered(ctx, id, "250 queued"); err != nil {
			return err
		}
		return tx.MessageReturned(ctx, id, store.ReturnedFailed, "550 5.1.1 nobody of this name")
	})
	if err := c.store.MarkRefused(ctx, c.person["Brida"], "m1@example.org", "552 5.2.2 over quota"); err != nil {
		t.Fatal(err)
	}
	c.as("Ansel").get("/messages").says(200, "Their mail server refused it: mailbox full.", "Ask them to make room in their mailbox", "552 5.2.2 over quota",
		"Not delivered yet: the server has trouble of its own.", "it is tried again", "delivered", "came back undelivered", "there is no such mailbox")
	c.inBoth("Ansel", "/messages", "over quota", "nobody of this name").says(200, "Postfach voll", "Platz zu machen", "zugestellt", "Noch nicht zugestellt: der Server hat selbst eine Störung.")
	c.as("Corin").get("/messages").says(200, "has trouble of its own").hides("mailbox full")
}
