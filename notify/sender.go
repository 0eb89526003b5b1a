package notify

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"

	"pryday/notify/mail"
)

// Sender hands one letter to one recipient. It is a seam to the outside: an
// SMTP server, or a Maildir on this machine.
type Sender interface {
	// Send tries once and says what came of it. It is safe for concurrent use
	// and returns by the context's deadline.
	Send(ctx context.Context, l *Letter) Outcome
	// Close lets idle connections go.
	Close() error
}

// Letter is one rendered message with its envelope.
type Letter struct {
	From string // the sender's address, without angle brackets
	To   string // the one recipient's
	Text []byte // header and body, lines ending in CRLF
}

// NewLetter renders m, signing it where d is not nil. A message has exactly
// one recipient: nobody learns of another member's address, and a refusal
// belongs to one address.
func NewLetter(m *mail.Message, d *DKIM) (*Letter, error) {
	from, err := m.GetSender(false)
	if err != nil {
		return nil, fmt.Errorf("letter: %w", err)
	}
	to, err := m.GetRecipients()
	if err != nil {
		return nil, fmt.Errorf("letter: %w", err)
	}
	if len(to) != 1 {
		return nil, fmt.Errorf("letter: %d recipients, one is allowed", len(to))
	}
	text, err := m.Bytes()
	if err != nil {
		return nil, fmt.Errorf("letter to %s: %w", to[0], err)
	}
	l := &Letter{From: bare(from), To: bare(to[0]), Text: wholeLines(text)}
	if len(m.GetAttachments()) > 0 {
		steady(l.Text, m.GetMessageID())
	}
	if d != nil {
		if l.Text, err = d.sign(l.Text); err != nil {
			return nil, fmt.Errorf("letter to %s: %w", to[0], err)
		}
	}
	return l, nil
}

// stuffed returns the text as it goes after DATA: lines that begin with a dot
// have another before it (RFC 5321, section 4.5.2), and the last line is ended.
func (l *Letter) stuffed() []byte {
	text := l.Text
	if bytes.Contains(text, []byte("\r\n.")) {
		text = bytes.ReplaceAll(text, []byte("\r\n."), []byte("\r\n.."))
	}
	if bytes.HasPrefix(text, []byte(".")) {
		text = slices.Concat([]byte("."), text)
	}
	if !bytes.HasSuffix(text, []byte("\r\n")) {
		text = append(slices.Clip(text), "\r\n"...)
	}
	return text
}

// wholeLines puts a CRLF in the place of every line end that is none. Servers
// disagree about bare ones, and one that takes a bare LF for a line end can be
// made to see the end of the message, and another message, within its text.
func wholeLines(text []byte) []byte {
	ends := bytes.Count(text, []byte("\r\n"))
	if bytes.Count(text, []byte("\n")) == ends && bytes.Count(text, []byte("\r")) == ends {
		return text
	}
	text = bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))
	text = bytes.ReplaceAll(text, []byte("\r"), []byte("\n"))
	return bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n"))
}

// steady names the boundaries between the parts of a message for its
// Message-ID, in place. go-mail draws those of nested parts at random, and a
// second attempt is to be the first one byte for byte.
func steady(text []byte, messageID string) {
	rest := text
	for i := range 2 {
		_, named, found := bytes.Cut(rest, []byte("boundary="))
		drawn, after, ended := bytes.Cut(named, []byte("\r\n"))
		if !found || !ended {
			return
		}
		sum := sha256.Sum256(fmt.Append(nil, messageID, " ", i))
		name := hex.AppendEncode(nil, sum[:])
		old := bytes.Clone(drawn)
		for left := text; ; {
			at := bytes.Index(left, old)
			if at < 0 {
				break
			}
			copy(left[at:at+len(old)], name)
			left = left[at+len(old):]
		}
		rest = after
	}
}

// bare takes the angle brackets off an address.
func bare(address string) string {
	if n := len(address); n > 1 && address[0] == '<' && address[n-1] == '>' {
		return address[1 : n-1]
	}
	return address
}
