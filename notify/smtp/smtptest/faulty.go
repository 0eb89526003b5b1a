// Package smtptest has mail servers for tests: one that misbehaves at one step
// of the dialogue, and one that takes everything and remembers it.
package smtptest

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"strings"
	"sync"
	"testing"
	"time"
)

// FaultyServer is an SMTP server that does one thing wrong at one step of the
// dialogue, and remembers whole messages that it took.
type FaultyServer struct {
	at    string // greeting, ehlo, mail, rcpt, data, content, dot, after
	what  string // a reply such as "451 4.3.0 busy", "drop", "reset", "stall"
	times int    // wrong so often, then right; 0 means always

	Pipelining bool // offered (RFC 2920)

	mu       sync.Mutex
	wrong    int
	taken    []string // messages taken, acknowledged or not
	opened   []net.Conn
	commands []string
	Listener net.Listener
}

// NewFaultyServer listens until the test ends.
func NewFaultyServer(t testing.TB, at, what string, times int) *FaultyServer {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := &FaultyServer{at: at, what: what, times: times, Listener: l}
	var serving sync.WaitGroup
	serving.Go(func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			s.mu.Lock()
			s.opened = append(s.opened, c)
			s.mu.Unlock()
			serving.Go(func() { s.serve(c) })
		}
	})
	t.Cleanup(func() {
		l.Close()
		s.mu.Lock()
		for _, c := range s.opened {
			c.Close()
		}
		s.mu.Unlock()
		serving.Wait()
	})
	return s
}

func (s *FaultyServer) Port() int { return s.Listener.Addr().(*net.TCPAddr).Port }

func (s *FaultyServer) Messages() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]string(nil), s.taken...)
}

func (s *FaultyServer) Connections() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.opened)
}

// fault does the wrong thing if this is the step for it. It reports whether
// the step was answered, and whether the connection is over.
func (s *FaultyServer) fault(c net.Conn, step string) (answered, over bool) {
	s.mu.Lock()
	hit := s.at == step && (s.times == 0 || s.wrong < s.times)
	if hit {
		s.wrong++
	}
	s.mu.Unlock()
	if !hit {
		return false, false
	}
	switch s.what {
	case "drop":
		return true, true
	case "reset":
		c.(*net.TCPConn).SetLinger(0)
		return true, true
	case "stall":
		io.Copy(io.Discard, c) // until the other side gives up
		return true, true
	}
	fmt.Fprintf(c, "%s\r\n", s.what)
	return true, strings.HasPrefix(s.what, "421")
}

func (s *FaultyServer) serve(c net.Conn) {
	defer c.Close()
	c.SetDeadline(time.Now().Add(20 * time.Second))
	r := bufio.NewReader(c)
	step := func(name, reply string) (going bool) {
		answered, over := s.fault(c, name)
		if over {
			return false
		}
		if !answered {
			fmt.Fprintf(c, "%s\r\n", reply)
		}
		return true
	}
	if !step("greeting", "220 mx.test ready") {
		return
	}
	for {
		line, err := r.ReadString('\n')
		if err != nil {
			return
		}
		line = strings.TrimSpace(line)
		s.mu.Lock()
		s.commands = append(s.commands, line)
		s.mu.Unlock()
		verb, _, _ := strings.Cut(strings.ToUpper(line), " ")
		switch verb {
		case "EHLO":
			offers := "250-mx.test\r\n250-ENHANCEDSTATUSCODES\r\n250 8BITMIME"
			if s.Pipelining {
				offers = strings.Replace(offers, "250 ", "250-PIPELINING\r\n250 ", 1)
			}
			if !step("ehlo", offers) {
				return
			}
		case "HELO":
			if !step("ehlo", "250 mx.test") {
				return
			}
		case "MAIL":
			if !step("mail", "250 2.1.0 ok") {
				return
			}
		case "RCPT":
			if !step("rcpt", "250 2.1.5 ok") {
				return
			}
		case "DATA":
			if answered, over := s.fault(c, "data"); over {
				return
			} else if answered {
				continue
			}
			fmt.Fprint(c, "354 go on\r\n")
			if s.at == "content" {
				r.ReadString('\n')
				if _, over := s.fault(c, "content"); over {
					return
				}
			}
			text, ok := readContent(r)
			if !ok {
				return
			}
			// A server that says no has not taken the message; one that breaks
			// off may have.
			refused := s.at == "dot" && s.what[0] >= '4' && s.what[0] <= '5'
			answered, over := s.fault(c, "dot")
			if !answered || !refused {
				s.mu.Lock()
				s.taken = append(s.taken, text)
				s.mu.Unlock()
			}
			if over {
				return
			}
			if !answered {
				fmt.Fprint(c, "250 2.0.0 taken as 7\r\n")
			}
			if _, over := s.fault(c, "after"); over {
				return
			}
		case "QUIT":
			fmt.Fprint(c, "221 2.0.0 bye\r\n")
			return
		default:
			fmt.Fprint(c, "250 2.0.0 ok\r\n")
		}
	}
}

func readContent(r *bufio.Reader) (string, bool) {
	var b strings.Builder
	for {
		line, err := r.ReadString('\n')
		if err != nil {
			return "", false
		}
		if line == ".\r\n" {
			return b.String(), true
		}
		b.WriteString(strings.TrimPrefix(line, "."))
	}
}
