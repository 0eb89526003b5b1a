package faults

import (
	"bytes"
	"fmt"
	netmail "net/mail"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"pryday/notify/smtp/smtptest"
	"pryday/testdata/testrun"
)

// postOffice is the mail server, which remembers what came from which run of
// the daemon.
type postOffice struct {
	at   string
	mu   sync.Mutex
	run  int
	came map[string][]arrival // by Message-ID without its brackets
	all  chan struct{}        // something came; never blocks
	held *heldMail            // none: nil
}

// heldMail is the one that a fault comes to while the server has it in hand.
type heldMail struct {
	at    string // rcpt or dot: before its text, or after
	left  int    // mails that come before it
	there chan struct{}
	until chan struct{}
}

// hold makes the server hold one of the next n mails until the fault has come;
// there is closed when it has it.
func (p *postOffice) hold(m *moment, n int) (there chan struct{}) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.held = &heldMail{[]string{"rcpt", "dot"}[m.among(2)], m.among(n), make(chan struct{}), m.come}
	return p.held.there
}

// inHand is what the server does at each step of each mail.
func (p *postOffice) inHand(step string) {
	p.mu.Lock()
	h := p.held
	if h == nil || h.at != step {
		p.mu.Unlock()
		return
	}
	h.left--
	if h.left >= 0 {
		p.mu.Unlock()
		return
	}
	p.held = nil
	p.mu.Unlock()
	close(h.there)
	<-h.until
}

type arrival struct {
	run  int
	to   string
	text string
}

func newPostOffice(t *testing.T) *postOffice {
	t.Helper()
	p := &postOffice{came: map[string][]arrival{}, all: make(chan struct{}, 1)}
	sink := smtptest.NewSink(t, func(s *smtptest.Sink) {
		s.Taken = make(chan smtptest.Received)
		s.Pause = 20 * time.Millisecond
		s.InHand = p.inHand
	})
	p.at = fmt.Sprintf("127.0.0.1:%d", sink.Port)
	go func() {
		for {
			select {
			case m := <-sink.Taken:
				p.take(string(m.Text), m.To)
			case <-t.Context().Done():
				return
			}
		}
	}()
	return p
}

func (p *postOffice) take(text, to string) {
	m, err := netmail.ReadMessage(strings.NewReader(text))
	id := "unreadable"
	if err == nil {
		id = strings.Trim(m.Header.Get("Message-ID"), "<>")
	}
	p.mu.Lock()
	p.came[id] = append(p.came[id], arrival{p.run, to, text})
	p.mu.Unlock()
	select {
	case p.all <- struct{}{}:
	default:
	}
}

// next begins a run of the daemon.
func (p *postOffice) next() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.run++
}

// arrivals are those of one mail of ours, by the part of its Message-ID before the @.
func (p *postOffice) arrivals(id string) (out []arrival) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for full, all := range p.came {
		if before, _, _ := strings.Cut(full, "@"); before == id {
			out = append(out, all...)
		}
	}
	return out
}

// forget lets the next mail to an address be the first.
func (p *postOffice) forget(address string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, all := range p.came {
		for i := range all {
			if all[i].to == address {
				all[i].to = "who was mailed before"
			}
		}
	}
}

var signInPath = regexp.MustCompile(`/sign-in/[A-Za-z0-9_-]+`)

// signInOf waits for a mail that signs somebody in.
func (p *postOffice) signInOf(t testing.TB, address string) (path string) {
	t.Helper()
	testrun.Until(t, "the mail that signs in has come", func() bool {
		p.mu.Lock()
		defer p.mu.Unlock()
		for _, all := range p.came {
			for _, a := range all {
				// Lines of a mail are folded with "=" at their end.
				text := bytes.ReplaceAll([]byte(a.text), []byte("=\r\n"), nil)
				if m := signInPath.Find(text); m != nil && a.to == address {
					path = string(m)
				}
			}
		}
		return path != ""
	})
	return path
}
