package notify

import (
	"context"
	"errors"
	"net"
	"net/textproto"
	"sync"
	"time"

	"github.com/wneessen/go-mail/smtp"
)

// line is one connection, past its sign-in.
type line struct {
	conn  *limitedConn
	talk  *smtp.Client
	sends int
	since time.Time // idle since
}

// send runs one transaction and reports whether the connection may be kept.
func (l *line) send(ctx context.Context, letter *Letter, limit time.Time) (o Outcome, reusable bool) {
	l.conn.limit(limit)
	defer context.AfterFunc(ctx, func() { l.conn.Close() })()
	// SMTPUTF8 makes a message undeliverable at older servers further on: ask
	// for it only where an address cannot do without (RFC 6531, 3.1).
	l.talk.SkipSMTPUTF8(isASCII(letter.From) && isASCII(letter.To))
	l.sends++
	reply, phase, err := l.transact(letter)
	if err == nil {
		return Outcome{Verdict: Delivered, Phase: After, Reply: oneLine(reply)}, l.sends < lineSends
	}
	// A refusal leaves the dialogue in order; a broken or closing connection
	// and half a message do not.
	var refusal *textproto.Error
	if errors.As(err, &refusal) && refusal.Code != 421 {
		reusable = l.sends < lineSends && l.talk.Reset() == nil
	}
	return sendOutcome(phase, err), reusable
}

// transact says MAIL, RCPT and DATA (RFC 5321, section 3.3) and returns the
// server's reply to the final dot, or the phase that failed.
func (l *line) transact(letter *Letter) (reply string, _ Phase, _ error) {
	if err := l.talk.Mail("<" + letter.From + ">"); err != nil {
		return "", MailFrom, err
	}
	if err := l.talk.Rcpt("<" + letter.To + ">"); err != nil {
		return "", RcptTo, err
	}
	if _, err := l.say(354, "DATA"); err != nil {
		return "", Data, err
	}
	// net/textproto's own writer looks at each byte twice over, which is a
	// large part of all the work; a letter has its line ends right already.
	w := l.talk.Text.W
	if _, err := w.Write(letter.stuffed()); err != nil {
		return "", Data, err
	}
	// From here on the server may have the letter.
	reply, err := l.say(250, ".")
	if err != nil {
		return "", FinalDot, err
	}
	return reply, After, nil
}

// say sends one line and reads the reply that must have a code.
func (l *line) say(code int, what string) (reply string, err error) {
	id, err := l.talk.Text.Cmd("%s", what)
	if err != nil {
		return "", err
	}
	l.talk.Text.StartResponse(id)
	defer l.talk.Text.EndResponse(id)
	_, reply, err = l.talk.Text.ReadResponse(code)
	return reply, err
}

// limitedConn is a connection whose deadlines never lie beyond a limit.
// go-mail starts a full timeout anew at several steps of a dialogue; an
// attempt as a whole must end before its job does.
type limitedConn struct {
	net.Conn
	mu    sync.Mutex
	until time.Time
}

func (c *limitedConn) limit(t time.Time) {
	c.mu.Lock()
	c.until = t
	c.mu.Unlock()
	c.Conn.SetDeadline(t)
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
