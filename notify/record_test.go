package notify_test

import (
	"strings"
	"testing"
	"time"

	"pryday/notify/smtp"
	"pryday/notify/smtp/smtptest"
	"pryday/store"
)

// TestWhatServersDoToTheRecord: what each misbehaviour of a server leaves on
// the record after one attempt. Nothing is lost: every message is sent, or
// owed still, or refused with the server's words.
func TestWhatServersDoToTheRecord(t *testing.T) {
	tests := []struct {
		at, what string
		state    store.MessageState
		attempts int
		reply    string
		marked   bool // the member's address
	}{
		{"none", "-", store.Sent, 1, "2.0.0 taken as 7", false},
		{"greeting", "421 4.3.2 down", store.Owed, 1, "421 4.3.2 down (connect)", false},
		{"greeting", "554 5.3.2 no mail here", store.Owed, 1, "554 5.3.2 no mail here (connect)", false},
		{"greeting", "drop", store.Owed, 1, "EOF (connect)", false},
		{"ehlo", "stall", store.Owed, 1, "(connect)", false},
		{"mail", "451 4.3.0 later", store.Owed, 1, "451 4.3.0 later (mail-from)", false},
		{"mail", "530 5.7.0 sign in", store.Owed, 1, "530 5.7.0 sign in (mail-from)", false},
		{"mail", "550 5.1.8 who are you", store.Refused, 1, "550 5.1.8 who are you", false},
		{"mail", "drop", store.Owed, 1, "(mail-from)", false},
		{"rcpt", "450 4.2.1 greylisted", store.Owed, 1, "450 4.2.1 greylisted (rcpt-to)", false},
		{"rcpt", "550 5.1.1 no such keeper", store.Refused, 1, "550 5.1.1 no such keeper", true},
		{"rcpt", "554 5.7.1 no relaying", store.Refused, 1, "554 5.7.1 no relaying", false},
		{"rcpt", "421 4.7.0 enough", store.Owed, 1, "421 4.7.0 enough (rcpt-to)", false},
		{"rcpt", "reset", store.Owed, 1, "(rcpt-to)", false},
		{"data", "451 4.3.0 no room", store.Owed, 1, "451 4.3.0 no room (data)", false},
		{"data", "554 5.5.1 no", store.Refused, 1, "554 5.5.1 no", false},
		{"data", "stall", store.Owed, 1, "(data)", false},
		{"dot", "452 4.3.1 full", store.Owed, 1, "452 4.3.1 full (final-dot)", false},
		{"dot", "554 5.7.1 spam", store.Refused, 1, "554 5.7.1 spam", false},
		{"dot", "550 5.1.1 no such keeper", store.Refused, 1, "550 5.1.1 no such keeper", true},
		{"dot", "reset", store.Owed, 1, "it may have arrived", false},
		{"dot", "stall", store.Owed, 1, "it may have arrived", false},
		{"after", "drop", store.Sent, 1, "2.0.0 taken as 7", false},
		{"after", "reset", store.Sent, 1, "2.0.0 taken as 7", false},
	}
	b := newFixture(t)
	owed := b.oweReminders(t, len(tests))
	person := b.person(t)
	for i, tt := range tests {
		t.Run(tt.at+" "+tt.what, func(t *testing.T) {
			server := smtptest.NewFaultyServer(t, tt.at, tt.what, 0)
			s := senderTo(t, server.Port(), func(c *smtp.Config) {
				if tt.what == "stall" {
					c.Timeout = 400 * time.Millisecond
				}
			})
			n := b.service(t, s)
			again, err := n.Attempt(t.Context(), b.club, owed[i].ID)
			if err != nil {
				t.Fatal(err)
			}
			m := b.message(t, owed[i].ID)
			if m.State != tt.state || m.Attempts != tt.attempts || !strings.Contains(m.Reply, tt.reply) {
				t.Errorf("%s after %d attempts, reply %q; want %s, %d, %q", m.State, m.Attempts, m.Reply, tt.state, tt.attempts, tt.reply)
			}
			if (again > 0) != (tt.state == store.Owed) {
				t.Errorf("the next attempt is in %s", again)
			}
			p, err := b.store.Person(t.Context(), person)
			if err != nil {
				t.Fatal(err)
			}
			if p.RefusedAt.IsZero() == tt.marked {
				t.Errorf("address marked: %t, want %t", !p.RefusedAt.IsZero(), tt.marked)
			}
			if tt.marked {
				if p.RefusedReply != tt.what {
					t.Errorf("the address says %q", p.RefusedReply)
				}
				if err := b.store.ClearRefused(t.Context(), person); err != nil {
					t.Fatal(err)
				}
			}
			// A second attempt changes nothing that is through with, and sends
			// nothing twice that was acknowledged.
			before := len(server.Messages())
			if tt.state != store.Owed {
				if again, err := n.Attempt(t.Context(), b.club, owed[i].ID); err != nil || again != 0 {
					t.Errorf("second attempt: %s, %v", again, err)
				}
				if after := len(server.Messages()); after != before {
					t.Errorf("the server got it again: %d, then %d", before, after)
				}
			}
		})
	}
}

// TestRefusedAddressGetsNoMore: reminders to an address that was refused are
// passed over until somebody clears the mark.
func TestRefusedAddressGetsNoMore(t *testing.T) {
	b := newFixture(t)
	owed := b.oweReminders(t, 2)
	person := b.person(t)
	server := smtptest.NewFaultyServer(t, "none", "", 0)
	n := b.service(t, senderTo(t, server.Port(), nil))
	if err := b.store.MarkRefused(t.Context(), person, b.message(t, owed[0].ID).Address, "550 5.1.1 no such keeper"); err != nil {
		t.Fatal(err)
	}
	if _, err := n.Attempt(t.Context(), b.club, owed[0].ID); err != nil {
		t.Fatal(err)
	}
	if m := b.message(t, owed[0].ID); m.State != store.PassedOver || !strings.Contains(m.Reply, "550 5.1.1") {
		t.Errorf("%s, %q", m.State, m.Reply)
	}
	if err := b.store.ClearRefused(t.Context(), person); err != nil {
		t.Fatal(err)
	}
	n = b.service(t, senderTo(t, server.Port(), nil)) // which remembers nothing
	if _, err := n.Attempt(t.Context(), b.club, owed[1].ID); err != nil {
		t.Fatal(err)
	}
	if m := b.message(t, owed[1].ID); m.State != store.Sent || len(server.Messages()) != 1 {
		t.Errorf("%s, %q; the server has %d", m.State, m.Reply, len(server.Messages()))
	}
}

// TestRefusedMeanwhile: what was read of a member before the address was refused
// does not count any more.
func TestRefusedMeanwhile(t *testing.T) {
	b := newFixture(t)
	owed := b.oweReminders(t, 2)
	n := b.service(t, senderTo(t, smtptest.NewFaultyServer(t, "rcpt", "550 5.1.1 no such keeper", 0).Port(), nil))
	for i, want := range []store.MessageState{store.Refused, store.PassedOver} {
		if _, err := n.Attempt(t.Context(), b.club, owed[i].ID); err != nil {
			t.Fatal(err)
		}
		if m := b.message(t, owed[i].ID); m.State != want {
			t.Errorf("message %d: %s, %q; want %s", i, m.State, m.Reply, want)
		}
	}
}

// TestSecondAttemptIsTheSameMail: what is sent again after a broken
// connection is the first one byte for byte, so that a reader sees one mail.
func TestSecondAttemptIsTheSameMail(t *testing.T) {
	b := newFixture(t)
	owed := b.oweReminders(t, 1)
	server := smtptest.NewFaultyServer(t, "dot", "reset", 1)
	n := b.service(t, senderTo(t, server.Port(), nil))
	for range 2 {
		if _, err := n.Attempt(t.Context(), b.club, owed[0].ID); err != nil {
			t.Fatal(err)
		}
		b.clock.ahead += time.Minute // a Date that follows the clock would differ
	}
	got := server.Messages()
	if len(got) != 2 || got[0] != got[1] {
		t.Errorf("%d arrived; equal: %t", len(got), len(got) == 2 && got[0] == got[1])
	}
	if m := b.message(t, owed[0].ID); m.State != store.Sent || m.Attempts != 2 {
		t.Errorf("%s after %d attempts", m.State, m.Attempts)
	}
	if c := n.Counts(); c.Unsure != 1 || c.Delivered != 1 {
		t.Errorf("counts %+v", c)
	}
}

func (b *fixture) person(t testing.TB) int64 {
	t.Helper()
	p, err := b.store.PersonByEmail(t.Context(), "kay@keepers.test")
	if err != nil {
		t.Fatal(err)
	}
	return p.ID
}
