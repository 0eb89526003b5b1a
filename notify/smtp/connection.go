package smtp

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/textproto"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/wneessen/go-mail/smtp"
)

// connection is one conversation with a server, past its sign-in.
type connection struct {
	conn  *limitedConn
	talk  *smtp.Client
	sends int
	since time.Time // idle since

	awaitsText bool // the server waits for a text that it will not get
}

// send runs one transaction and reports whether the connection may be kept.
func (l *connection) send(ctx context.Context, letter *Letter, limit time.Time) (o Outcome, reusable bool) {
	l.conn.limit(limit)
	defer context.AfterFunc(ctx, func() { l.conn.limit(time.Now()) })()
	l.sends++
	reply, phase, err := l.transact(letter)
	if err == nil {
		return Outcome{Verdict: Delivered, Phase: After, Reply: OneLine(reply)}, l.sends < keptSends
	}
	// A refusal leaves the dialogue in order; a broken or closing connection
	// and half a message do not.
	var refusal *textproto.Error
	if errors.As(err, &refusal) && refusal.Code != 421 && !l.awaitsText {
		reusable = l.sends < keptSends && l.talk.Reset() == nil
	}
	return sendOutcome(phase, err), reusable
}

// transact says MAIL, RCPT and DATA (RFC 5321, section 3.3) and returns the
// server's reply to the final dot, or the phase that failed.
func (l *connection) transact(letter *Letter) (reply string, _ Phase, _ error) {
	if phase, err := l.introduce(letter); err != nil {
		return "", phase, err
	}
	// net/textproto's own writer looks at each byte twice over, which is a
	// large part of all the work; a letter has its line ends right already.
	w := l.talk.Text.W
	if _, err := w.Write(letter.stuffed()); err != nil {
		return "", Data, err
	}
	// From here on the server may have the letter.
	if err := l.say("."); err != nil {
		return "", FinalDot, err
	}
	_, reply, err := l.talk.Text.ReadResponse(250)
	if err != nil {
		return "", FinalDot, err
	}
	return reply, After, nil
}

// introduce says everything before the text, all at once to servers that
// allow it (RFC 2920): each wait for a reply is a trip over the network. It
// returns the first phase that failed.
func (l *connection) introduce(letter *Letter) (failed Phase, first error) {
	sender := "MAIL FROM:<" + letter.From + ">"
	if !isASCII(letter.From) || !isASCII(letter.To) {
		// SMTPUTF8 makes a message undeliverable at older servers further on:
		// ask for it only where an address cannot do without (RFC 6531, 3.1).
		if can, _ := l.talk.Extension("SMTPUTF8"); can {
			sender += " SMTPUTF8"
		}
	}
	steps := []struct {
		phase Phase
		line  string
		code  int
	}{{MailFrom, sender, 250}, {RcptTo, "RCPT TO:<" + letter.To + ">", 25}, {Data, "DATA", 354}}

	atOnce, _ := l.talk.Extension("PIPELINING")
	if atOnce {
		if err := l.say(steps[0].line, steps[1].line, steps[2].line); err != nil {
			return MailFrom, err
		}
	}
	for _, s := range steps {
		if !atOnce {
			if err := l.say(s.line); err != nil {
				return s.phase, err
			}
		}
		_, _, err := l.talk.Text.ReadResponse(s.code)
		if err != nil && first == nil {
			failed, first = s.phase, err
		}
		var refusal *textproto.Error
		if err != nil && (!atOnce || !errors.As(err, &refusal)) {
			return failed, first
		}
		// A server may want the text although it refused the recipient.
		l.awaitsText = first != nil && s.phase == Data && err == nil
	}
	return failed, first
}

// say sends lines.
func (l *connection) say(lines ...string) error {
	w := l.talk.Text.W
	for _, s := range lines {
		if strings.ContainsAny(s, "\r\n") {
			return fmt.Errorf("%q would be two lines", s)
		}
		w.WriteString(s)
		w.WriteString("\r\n")
	}
	return w.Flush()
}

// limitedConn is a connection whose deadlines never lie beyond a limit.
// go-mail starts a full timeout anew at several steps of a dialogue; an
// attempt as a whole must end before its job does.
type limitedConn struct {
	net.Conn
	mu     sync.Mutex
	until  time.Time
	looked bool // once more, after the limit
}

func (c *limitedConn) limit(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.until, c.looked = t, false
	c.Conn.SetDeadline(t)
}

// lastLook is how long what has come is looked for when the time is up.
const lastLook = 100 * time.Millisecond

// Read reads. When the time is up it looks once more at what has come: of a
// machine that slept, or was stopped, the time is up before it has read the answer
// that lies there, and a mail that was taken would be sent again. A new limit may
// pass amid that look, and is looked after, too.
func (c *limitedConn) Read(b []byte) (int, error) {
	n, err := c.Conn.Read(b)
	for n == 0 && errors.Is(err, os.ErrDeadlineExceeded) && c.lookAgain() {
		n, err = c.Conn.Read(b)
	}
	return n, err
}

// lookAgain leaves time for a last look, once for each limit that has passed.
func (c *limitedConn) lookAgain() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.looked || time.Now().Before(c.until) {
		return false
	}
	c.looked = true
	return c.Conn.SetReadDeadline(time.Now().Add(lastLook)) == nil
}

// SetDeadline sets the deadline, at the latest to the limit.
func (c *limitedConn) SetDeadline(t time.Time) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if t.IsZero() || t.After(c.until) {
		t = c.until
	}
	return c.Conn.SetDeadline(t)
}

func isASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= 0x80 {
			return false
		}
	}
	return true
}
