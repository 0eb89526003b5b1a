package smtp_test

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"pryday/notify/smtp"
	"pryday/notify/smtp/smtptest"
)

// letter makes a letter as senders get them.
func letter(_ testing.TB, id, to string) *smtp.Letter {
	return &smtp.Letter{
		From: "pryday@club.test", To: to,
		Text: []byte("Message-ID: <" + id + ">\r\nSubject: Two boxes to open on Saturday\r\n\r\nLarch: box R14.\r\n" +
			".A line that begins with a dot.\r\n" + strings.Repeat("Bring a spare lid.\r\n", 400)),
	}
}

func sender(t testing.TB, port int, change func(*smtp.Config)) *smtp.Sender {
	t.Helper()
	c := smtp.Config{Host: "127.0.0.1", Port: port, TLS: smtp.TLSNone, Helo: "pryday.test", Timeout: 5 * time.Second}
	if change != nil {
		change(&c)
	}
	s, err := smtp.New(c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// TestWhatServersDo is the table of what each misbehaviour of a server means
// for a message. The codes are those of RFC 5321, section 4.2, and RFC 3463.
func TestWhatServersDo(t *testing.T) {
	const later, never, delivered = smtp.Later, smtp.Never, smtp.Delivered
	tests := []struct {
		at, what string
		verdict  smtp.Verdict
		phase    smtp.Phase
		unsure   bool
		address  bool
		settings bool
		reply    string // that the record must show
	}{
		{at: "none", what: "-", verdict: delivered, phase: smtp.After, reply: "2.0.0 taken as 7"},

		{at: "greeting", what: "421 4.3.2 going down", verdict: later, phase: smtp.Connect, reply: "421 4.3.2 going down"},
		{at: "greeting", what: "554 5.3.2 no mail here", verdict: later, phase: smtp.Connect, settings: true, reply: "554 5.3.2 no mail here"},
		{at: "greeting", what: "drop", verdict: later, phase: smtp.Connect},
		{at: "greeting", what: "reset", verdict: later, phase: smtp.Connect},
		{at: "greeting", what: "stall", verdict: later, phase: smtp.Connect},
		{at: "ehlo", what: "421 4.7.0 too many", verdict: later, phase: smtp.Connect},
		{at: "ehlo", what: "550 5.7.1 who are you", verdict: later, phase: smtp.Connect, settings: true, reply: "550 5.7.1 who are you"},
		{at: "ehlo", what: "drop", verdict: later, phase: smtp.Connect},
		{at: "ehlo", what: "stall", verdict: later, phase: smtp.Connect},

		{at: "mail", what: "451 4.3.0 try again", verdict: later, phase: smtp.MailFrom, reply: "451 4.3.0 try again"},
		{at: "mail", what: "421 4.4.2 idle", verdict: later, phase: smtp.MailFrom, reply: "421 4.4.2 idle"},
		{at: "mail", what: "530 5.7.0 sign in first", verdict: later, phase: smtp.MailFrom, settings: true, reply: "530 5.7.0 sign in first"},
		{at: "mail", what: "550 5.1.8 sender unknown", verdict: never, phase: smtp.MailFrom, reply: "550 5.1.8 sender unknown"},
		{at: "mail", what: "drop", verdict: later, phase: smtp.MailFrom},
		{at: "mail", what: "reset", verdict: later, phase: smtp.MailFrom},
		{at: "mail", what: "stall", verdict: later, phase: smtp.MailFrom},

		{at: "rcpt", what: "450 4.2.1 greylisted", verdict: later, phase: smtp.RcptTo, reply: "450 4.2.1 greylisted"},
		{at: "rcpt", what: "421 4.7.0 enough", verdict: later, phase: smtp.RcptTo, reply: "421 4.7.0 enough"},
		{at: "rcpt", what: "550 5.1.1 no such keeper", verdict: never, phase: smtp.RcptTo, address: true, reply: "550 5.1.1 no such keeper"},
		{at: "rcpt", what: "550 no such keeper", verdict: never, phase: smtp.RcptTo, address: true, reply: "550 no such keeper"},
		{at: "rcpt", what: "552 5.2.2 mailbox full", verdict: never, phase: smtp.RcptTo, address: true},
		{at: "rcpt", what: "554 5.7.1 relaying denied", verdict: never, phase: smtp.RcptTo, reply: "554 5.7.1 relaying denied"},
		{at: "rcpt", what: "drop", verdict: later, phase: smtp.RcptTo},
		{at: "rcpt", what: "reset", verdict: later, phase: smtp.RcptTo},
		{at: "rcpt", what: "stall", verdict: later, phase: smtp.RcptTo},

		{at: "data", what: "451 4.3.0 no room", verdict: later, phase: smtp.Data},
		{at: "data", what: "421 4.3.2 closing", verdict: later, phase: smtp.Data},
		{at: "data", what: "554 5.5.1 no valid recipients", verdict: never, phase: smtp.Data},
		{at: "data", what: "drop", verdict: later, phase: smtp.Data},
		{at: "data", what: "stall", verdict: later, phase: smtp.Data},
		{at: "content", what: "drop", verdict: later, phase: smtp.FinalDot, unsure: true},
		{at: "content", what: "stall", verdict: later, phase: smtp.FinalDot, unsure: true},

		{at: "dot", what: "451 4.3.0 queue full", verdict: later, phase: smtp.FinalDot, reply: "451 4.3.0 queue full"},
		{at: "dot", what: "421 4.3.2 closing", verdict: later, phase: smtp.FinalDot, reply: "421 4.3.2 closing"},
		{at: "dot", what: "554 5.7.1 looks like spam", verdict: never, phase: smtp.FinalDot, reply: "554 5.7.1 looks like spam"},
		{at: "dot", what: "550 5.1.1 no such keeper", verdict: never, phase: smtp.FinalDot, address: true},
		{at: "dot", what: "drop", verdict: later, phase: smtp.FinalDot, unsure: true},
		{at: "dot", what: "reset", verdict: later, phase: smtp.FinalDot, unsure: true},
		{at: "dot", what: "stall", verdict: later, phase: smtp.FinalDot, unsure: true},

		{at: "after", what: "drop", verdict: delivered, phase: smtp.After, reply: "2.0.0 taken as 7"},
		{at: "after", what: "reset", verdict: delivered, phase: smtp.After},
		{at: "after", what: "stall", verdict: delivered, phase: smtp.After},
	}
	for _, pipelining := range []bool{false, true} {
		for _, tt := range tests {
			name := tt.at + " " + tt.what
			if pipelining {
				name += " pipelining"
			}
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				server := smtptest.NewFaultyServer(t, tt.at, tt.what, 0)
				server.Pipelining = pipelining
				hurry := func(c *smtp.Config) {
					if tt.what == "stall" {
						c.Timeout = 400 * time.Millisecond
					}
				}
				// What was said before a reset may be lost with the connection.
				early := pipelining && tt.what == "reset" && tt.at == "rcpt"
				o := sender(t, server.Port(), hurry).Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test"))
				if o.Verdict != tt.verdict || !(o.Phase == tt.phase || early && o.Phase == smtp.MailFrom) || o.Unsure != tt.unsure || o.BadAddress != tt.address || o.Settings != tt.settings {
					t.Errorf("got %+v", o)
				}
				if !strings.Contains(o.Reply, tt.reply) {
					t.Errorf("reply %q, want %q in it", o.Reply, tt.reply)
				}
				if (o.Err == nil) != (tt.verdict == delivered) {
					t.Errorf("verdict %s with error %v", o.Verdict, o.Err)
				}
				if taken := len(server.Messages()); taken > 0 && o.Verdict != delivered && !o.Unsure {
					t.Errorf("the server took %d messages, the sender says %s", taken, o.Verdict)
				} else if taken == 0 && o.Verdict == delivered {
					t.Error("the sender says delivered, the server took nothing")
				}
			})
		}
	}
}

// A server that takes commands at once and wants the text of a message whose
// recipient it refused gets none, and the connection is not used again.
func TestPipeliningRefused(t *testing.T) {
	server := smtptest.NewFaultyServer(t, "rcpt", "550 5.1.1 no such keeper", 1)
	server.Pipelining = true
	s := sender(t, server.Port(), nil)
	if o := s.Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test")); o.Verdict != smtp.Never || o.Phase != smtp.RcptTo || !o.BadAddress {
		t.Errorf("got %+v", o)
	}
	if o := s.Send(t.Context(), letter(t, "two@club.test", "lou@keepers.test")); o.Verdict != smtp.Delivered {
		t.Errorf("got %+v", o)
	}
	taken := server.Messages()
	if len(taken) != 1 || !strings.Contains(taken[0], "two@club.test") || server.Connections() != 2 {
		t.Errorf("%d messages were taken on %d connections: %.200q", len(taken), server.Connections(), taken)
	}
}

func TestNoServer(t *testing.T) {
	server := smtptest.NewFaultyServer(t, "none", "", 0)
	server.Listener.Close()
	s := sender(t, server.Port(), nil)
	for range 3 {
		if o := s.Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test")); o.Verdict != smtp.Later || o.Phase != smtp.Connect || o.Settings {
			t.Errorf("got %+v", o)
		}
	}
}

// TestDialRest: a thousand messages must not dial a dead server a thousand times.
func TestDialRest(t *testing.T) {
	server := smtptest.NewFaultyServer(t, "greeting", "421 4.3.2 down", 0)
	s := sender(t, server.Port(), nil)
	for range 20 {
		if o := s.Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test")); o.Verdict != smtp.Later {
			t.Errorf("got %+v", o)
		}
	}
	if n := server.Connections(); n != 1 {
		t.Errorf("dialled %d times for 20 messages at once, want once", n)
	}
}

func TestContentArrivesWhole(t *testing.T) {
	server := smtptest.NewFaultyServer(t, "none", "", 0)
	l := letter(t, "one@club.test", "kay@keepers.test")
	if o := sender(t, server.Port(), nil).Send(t.Context(), l); o.Verdict != smtp.Delivered {
		t.Fatalf("got %+v", o)
	}
	if got := server.Messages(); len(got) != 1 || got[0] != string(l.Text) {
		t.Errorf("the server got %q\nwant %q", got, l.Text)
	}
}

// TestConnectionsAreKeptAndBounded sends many messages at once: every one
// arrives, over no more connections than allowed.
func TestConnectionsAreKeptAndBounded(t *testing.T) {
	server := smtptest.NewFaultyServer(t, "none", "", 0)
	s := sender(t, server.Port(), func(c *smtp.Config) { c.Connections, c.Timeout = 3, 10*time.Second })
	var wg sync.WaitGroup
	for i := range 120 {
		wg.Go(func() {
			if o := s.Send(t.Context(), letter(t, fmt.Sprintf("%d@club.test", i), "kay@keepers.test")); o.Verdict != smtp.Delivered {
				t.Errorf("message %d: %+v", i, o)
			}
		})
	}
	wg.Wait()
	if n := len(server.Messages()); n != 120 {
		t.Errorf("%d messages arrived, want 120", n)
	}
	if n := server.Connections(); n > 3 {
		t.Errorf("%d connections, want at most 3", n)
	}
}

// TestKeptConnectionGone: a server that closed a kept connection between two
// messages costs neither of them a retry.
func TestKeptConnectionGone(t *testing.T) {
	for _, what := range []string{"drop", "reset", "421 4.4.2 idle too long"} {
		t.Run(what, func(t *testing.T) {
			server := smtptest.NewFaultyServer(t, "after", what, 1)
			s := sender(t, server.Port(), nil)
			for i := range 3 {
				if o := s.Send(t.Context(), letter(t, fmt.Sprintf("%d@club.test", i), "kay@keepers.test")); o.Verdict != smtp.Delivered {
					t.Errorf("message %d: %+v", i, o)
				}
			}
			if n := len(server.Messages()); n != 3 {
				t.Errorf("%d messages arrived, want 3", n)
			}
		})
	}
}

// TestRefusalKeepsTheConnection: one bad address does not cost the next
// message its connection, and nothing of it leaks into the next.
func TestRefusalKeepsTheConnection(t *testing.T) {
	server := smtptest.NewFaultyServer(t, "rcpt", "550 5.1.1 no such keeper", 1)
	s := sender(t, server.Port(), nil)
	if o := s.Send(t.Context(), letter(t, "bad@club.test", "nobody@keepers.test")); o.Verdict != smtp.Never {
		t.Errorf("got %+v", o)
	}
	if o := s.Send(t.Context(), letter(t, "good@club.test", "kay@keepers.test")); o.Verdict != smtp.Delivered {
		t.Errorf("got %+v", o)
	}
	if n := server.Connections(); n != 1 {
		t.Errorf("%d connections, want 1", n)
	}
	if got := server.Messages(); len(got) != 1 || !strings.Contains(got[0], "good@club.test") {
		t.Errorf("the server took %q", got)
	}
}

// TestAnAddressIsOneCommand: a line break in one ends the attempt before
// anything of it is said.
func TestAnAddressIsOneCommand(t *testing.T) {
	server := smtptest.NewFaultyServer(t, "none", "-", 0)
	o := sender(t, server.Port(), nil).Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test>\r\nRCPT TO:<other@keepers.test"))
	if o.Verdict == smtp.Delivered || o.Phase != smtp.RcptTo || !strings.Contains(o.Reply, "two lines") || len(server.Messages()) != 0 {
		t.Errorf("got %+v", o)
	}
}

// TestDeadlineHolds: whatever a server does, an attempt ends by its limit,
// which lies below the job's.
func TestDeadlineHolds(t *testing.T) {
	for _, at := range []string{"greeting", "ehlo", "mail", "data", "dot"} {
		t.Run(at, func(t *testing.T) {
			t.Parallel()
			server := smtptest.NewFaultyServer(t, at, "stall", 0)
			ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
			defer cancel()
			begun := time.Now()
			o := sender(t, server.Port(), func(c *smtp.Config) { c.Timeout = time.Minute }).Send(ctx, letter(t, "one@club.test", "kay@keepers.test"))
			if o.Verdict != smtp.Later {
				t.Errorf("got %+v", o)
			}
			if took := time.Since(begun); took > 2*time.Second {
				t.Errorf("took %s with a deadline of 200 ms", took)
			}
		})
	}
}
