package notify_test

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	gomail "github.com/wneessen/go-mail"

	"pryday/notify"
	"pryday/notify/mail"
)

// letter makes a letter as the senders get them.
func letter(t testing.TB, id, to string) *notify.Letter {
	t.Helper()
	l, err := notify.NewLetter(&mail.Message{Msg: message(t, id, to)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func message(t testing.TB, id, to string) *gomail.Msg {
	t.Helper()
	m := gomail.NewMsg(gomail.WithNoDefaultUserAgent())
	if err := m.From("Hollow Lane Bees <pryday@club.test>"); err != nil {
		t.Fatal(err)
	}
	if err := m.To(to); err != nil {
		t.Fatal(err)
	}
	m.Subject("Two boxes to open on Saturday")
	m.SetMessageIDWithValue(id)
	m.SetDateWithValue(time.Date(2027, 5, 1, 7, 0, 0, 0, time.UTC))
	m.SetBodyString(gomail.TypeTextPlain, "Larch: box R14.\n.A line that begins with a dot.\n"+strings.Repeat("Bring a spare lid.\n", 400))
	return m
}

func sender(t testing.TB, port int, change func(*notify.SMTPConfig)) *notify.SMTP {
	t.Helper()
	c := notify.SMTPConfig{Host: "127.0.0.1", Port: port, TLS: notify.TLSNone, Helo: "pryday.test", Timeout: 5 * time.Second}
	if change != nil {
		change(&c)
	}
	s, err := notify.NewSMTP(c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// TestWhatServersDo is the table of what each misbehaviour of a server means
// for a message. The codes are those of RFC 5321, section 4.2, and RFC 3463.
func TestWhatServersDo(t *testing.T) {
	const later, never, delivered = notify.Later, notify.Never, notify.Delivered
	tests := []struct {
		at, what string
		verdict  notify.Verdict
		phase    notify.Phase
		unsure   bool
		address  bool
		settings bool
		reply    string // that the record must show
	}{
		{at: "none", what: "-", verdict: delivered, phase: notify.After, reply: "2.0.0 taken as 7"},

		{at: "greeting", what: "421 4.3.2 going down", verdict: later, phase: notify.Connect, reply: "421 4.3.2 going down"},
		{at: "greeting", what: "554 5.3.2 no mail here", verdict: later, phase: notify.Connect, settings: true, reply: "554 5.3.2 no mail here"},
		{at: "greeting", what: "drop", verdict: later, phase: notify.Connect},
		{at: "greeting", what: "reset", verdict: later, phase: notify.Connect},
		{at: "greeting", what: "stall", verdict: later, phase: notify.Connect},
		{at: "ehlo", what: "421 4.7.0 too many", verdict: later, phase: notify.Connect},
		{at: "ehlo", what: "550 5.7.1 who are you", verdict: later, phase: notify.Connect, settings: true, reply: "550 5.7.1 who are you"},
		{at: "ehlo", what: "drop", verdict: later, phase: notify.Connect},
		{at: "ehlo", what: "stall", verdict: later, phase: notify.Connect},

		{at: "mail", what: "451 4.3.0 try again", verdict: later, phase: notify.MailFrom, reply: "451 4.3.0 try again"},
		{at: "mail", what: "421 4.4.2 idle", verdict: later, phase: notify.MailFrom, reply: "421 4.4.2 idle"},
		{at: "mail", what: "530 5.7.0 sign in first", verdict: later, phase: notify.MailFrom, settings: true, reply: "530 5.7.0 sign in first"},
		{at: "mail", what: "550 5.1.8 sender unknown", verdict: never, phase: notify.MailFrom, reply: "550 5.1.8 sender unknown"},
		{at: "mail", what: "drop", verdict: later, phase: notify.MailFrom},
		{at: "mail", what: "reset", verdict: later, phase: notify.MailFrom},
		{at: "mail", what: "stall", verdict: later, phase: notify.MailFrom},

		{at: "rcpt", what: "450 4.2.1 greylisted", verdict: later, phase: notify.RcptTo, reply: "450 4.2.1 greylisted"},
		{at: "rcpt", what: "421 4.7.0 enough", verdict: later, phase: notify.RcptTo, reply: "421 4.7.0 enough"},
		{at: "rcpt", what: "550 5.1.1 no such keeper", verdict: never, phase: notify.RcptTo, address: true, reply: "550 5.1.1 no such keeper"},
		{at: "rcpt", what: "550 no such keeper", verdict: never, phase: notify.RcptTo, address: true, reply: "550 no such keeper"},
		{at: "rcpt", what: "552 5.2.2 mailbox full", verdict: never, phase: notify.RcptTo, address: true},
		{at: "rcpt", what: "554 5.7.1 relaying denied", verdict: never, phase: notify.RcptTo, reply: "554 5.7.1 relaying denied"},
		{at: "rcpt", what: "drop", verdict: later, phase: notify.RcptTo},
		{at: "rcpt", what: "reset", verdict: later, phase: notify.RcptTo},
		{at: "rcpt", what: "stall", verdict: later, phase: notify.RcptTo},

		{at: "data", what: "451 4.3.0 no room", verdict: later, phase: notify.Data},
		{at: "data", what: "421 4.3.2 closing", verdict: later, phase: notify.Data},
		{at: "data", what: "554 5.5.1 no valid recipients", verdict: never, phase: notify.Data},
		{at: "data", what: "drop", verdict: later, phase: notify.Data},
		{at: "data", what: "stall", verdict: later, phase: notify.Data},
		{at: "content", what: "drop", verdict: later, phase: notify.FinalDot, unsure: true},
		{at: "content", what: "stall", verdict: later, phase: notify.FinalDot, unsure: true},

		{at: "dot", what: "451 4.3.0 queue full", verdict: later, phase: notify.FinalDot, reply: "451 4.3.0 queue full"},
		{at: "dot", what: "421 4.3.2 closing", verdict: later, phase: notify.FinalDot, reply: "421 4.3.2 closing"},
		{at: "dot", what: "554 5.7.1 looks like spam", verdict: never, phase: notify.FinalDot, reply: "554 5.7.1 looks like spam"},
		{at: "dot", what: "550 5.1.1 no such keeper", verdict: never, phase: notify.FinalDot, address: true},
		{at: "dot", what: "drop", verdict: later, phase: notify.FinalDot, unsure: true},
		{at: "dot", what: "reset", verdict: later, phase: notify.FinalDot, unsure: true},
		{at: "dot", what: "stall", verdict: later, phase: notify.FinalDot, unsure: true},

		{at: "after", what: "drop", verdict: delivered, phase: notify.After, reply: "2.0.0 taken as 7"},
		{at: "after", what: "reset", verdict: delivered, phase: notify.After},
		{at: "after", what: "stall", verdict: delivered, phase: notify.After},
	}
	for _, pipelining := range []bool{false, true} {
		for _, tt := range tests {
			name := tt.at + " " + tt.what
			if pipelining {
				name += " pipelining"
			}
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				server := newFaultServer(t, tt.at, tt.what, 0)
				server.pipelining = pipelining
				hurry := func(c *notify.SMTPConfig) {
					if tt.what == "stall" {
						c.Timeout = 400 * time.Millisecond
					}
				}
				// What was said before a reset may be lost with the connection.
				early := pipelining && tt.what == "reset" && tt.at == "rcpt"
				o := sender(t, server.port(), hurry).Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test"))
				if o.Verdict != tt.verdict || !(o.Phase == tt.phase || early && o.Phase == notify.MailFrom) || o.Unsure != tt.unsure || o.BadAddress != tt.address || o.Settings != tt.settings {
					t.Errorf("got %+v", o)
				}
				if !strings.Contains(o.Reply, tt.reply) {
					t.Errorf("reply %q, want %q in it", o.Reply, tt.reply)
				}
				if (o.Err == nil) != (tt.verdict == delivered) {
					t.Errorf("verdict %s with error %v", o.Verdict, o.Err)
				}
				if taken := len(server.messages()); taken > 0 && o.Verdict != delivered && !o.Unsure {
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
	server := newFaultServer(t, "rcpt", "550 5.1.1 no such keeper", 1)
	server.pipelining = true
	s := sender(t, server.port(), nil)
	if o := s.Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test")); o.Verdict != notify.Never || o.Phase != notify.RcptTo || !o.BadAddress {
		t.Errorf("got %+v", o)
	}
	if o := s.Send(t.Context(), letter(t, "two@club.test", "lou@keepers.test")); o.Verdict != notify.Delivered {
		t.Errorf("got %+v", o)
	}
	taken := server.messages()
	if len(taken) != 1 || !strings.Contains(taken[0], "two@club.test") || server.connections() != 2 {
		t.Errorf("%d messages were taken on %d connections: %.200q", len(taken), server.connections(), taken)
	}
}

func TestNoServer(t *testing.T) {
	server := newFaultServer(t, "none", "", 0)
	server.listener.Close()
	s := sender(t, server.port(), nil)
	for range 3 {
		if o := s.Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test")); o.Verdict != notify.Later || o.Phase != notify.Connect || o.Settings {
			t.Errorf("got %+v", o)
		}
	}
}

// TestDialRest: a thousand messages must not dial a dead server a thousand times.
func TestDialRest(t *testing.T) {
	server := newFaultServer(t, "greeting", "421 4.3.2 down", 0)
	s := sender(t, server.port(), nil)
	for range 20 {
		if o := s.Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test")); o.Verdict != notify.Later {
			t.Errorf("got %+v", o)
		}
	}
	if n := server.connections(); n != 1 {
		t.Errorf("dialled %d times for 20 messages at once, want once", n)
	}
}

func TestContentArrivesWhole(t *testing.T) {
	server := newFaultServer(t, "none", "", 0)
	l := letter(t, "one@club.test", "kay@keepers.test")
	if o := sender(t, server.port(), nil).Send(t.Context(), l); o.Verdict != notify.Delivered {
		t.Fatalf("got %+v", o)
	}
	if got := server.messages(); len(got) != 1 || got[0] != string(l.Text) {
		t.Errorf("the server got %q\nwant %q", got, l.Text)
	}
}

// TestConnectionsAreKeptAndBounded sends many messages at once: every one
// arrives, over no more connections than allowed.
func TestConnectionsAreKeptAndBounded(t *testing.T) {
	server := newFaultServer(t, "none", "", 0)
	s := sender(t, server.port(), func(c *notify.SMTPConfig) { c.Connections, c.Timeout = 3, 10*time.Second })
	var wg sync.WaitGroup
	for i := range 120 {
		wg.Go(func() {
			if o := s.Send(t.Context(), letter(t, fmt.Sprintf("%d@club.test", i), "kay@keepers.test")); o.Verdict != notify.Delivered {
				t.Errorf("message %d: %+v", i, o)
			}
		})
	}
	wg.Wait()
	if n := len(server.messages()); n != 120 {
		t.Errorf("%d messages arrived, want 120", n)
	}
	if n := server.connections(); n > 3 {
		t.Errorf("%d connections, want at most 3", n)
	}
}

// TestKeptConnectionGone: a server that closed a kept connection between two
// messages costs neither of them a retry.
func TestKeptConnectionGone(t *testing.T) {
	for _, what := range []string{"drop", "reset", "421 4.4.2 idle too long"} {
		t.Run(what, func(t *testing.T) {
			server := newFaultServer(t, "after", what, 1)
			s := sender(t, server.port(), nil)
			for i := range 3 {
				if o := s.Send(t.Context(), letter(t, fmt.Sprintf("%d@club.test", i), "kay@keepers.test")); o.Verdict != notify.Delivered {
					t.Errorf("message %d: %+v", i, o)
				}
			}
			if n := len(server.messages()); n != 3 {
				t.Errorf("%d messages arrived, want 3", n)
			}
		})
	}
}

// TestRefusalKeepsTheConnection: one bad address does not cost the next
// message its connection, and nothing of it leaks into the next.
func TestRefusalKeepsTheConnection(t *testing.T) {
	server := newFaultServer(t, "rcpt", "550 5.1.1 no such keeper", 1)
	s := sender(t, server.port(), nil)
	if o := s.Send(t.Context(), letter(t, "bad@club.test", "nobody@keepers.test")); o.Verdict != notify.Never {
		t.Errorf("got %+v", o)
	}
	if o := s.Send(t.Context(), letter(t, "good@club.test", "kay@keepers.test")); o.Verdict != notify.Delivered {
		t.Errorf("got %+v", o)
	}
	if n := server.connections(); n != 1 {
		t.Errorf("%d connections, want 1", n)
	}
	if got := server.messages(); len(got) != 1 || !strings.Contains(got[0], "good@club.test") {
		t.Errorf("the server took %q", got)
	}
}

// TestDeadlineHolds: whatever a server does, an attempt ends by its limit,
// which lies below the job's.
func TestDeadlineHolds(t *testing.T) {
	for _, at := range []string{"greeting", "ehlo", "mail", "data", "dot"} {
		t.Run(at, func(t *testing.T) {
			t.Parallel()
			server := newFaultServer(t, at, "stall", 0)
			ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
			defer cancel()
			begun := time.Now()
			o := sender(t, server.port(), func(c *notify.SMTPConfig) { c.Timeout = time.Minute }).Send(ctx, letter(t, "one@club.test", "kay@keepers.test"))
			if o.Verdict != notify.Later {
				t.Errorf("got %+v", o)
			}
			if took := time.Since(begun); took > 2*time.Second {
				t.Errorf("took %s with a deadline of 200 ms", took)
			}
		})
	}
}

func TestOneRecipient(t *testing.T) {
	m := message(t, "one@club.test", "kay@keepers.test")
	if err := m.AddCc("lou@keepers.test"); err != nil {
		t.Fatal(err)
	}
	if l, err := notify.NewLetter(&mail.Message{Msg: m}, nil); err == nil || !strings.Contains(err.Error(), "2 recipients") {
		t.Errorf("two recipients: %+v, %v", l, err)
	}
}
