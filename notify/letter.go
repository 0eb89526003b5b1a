package notify

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"pryday/notify/mail"
	"pryday/notify/smtp"
)

// NewLetter renders m, signing it where d is not nil. A message has exactly
// one recipient: nobody learns of another member's address, and a refusal
// belongs to one address.
func NewLetter(m *mail.Message, d *DKIM) (*smtp.Letter, error) {
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
	l := &smtp.Letter{From: bare(from), To: bare(to[0]), Text: smtp.WholeLines(text)}
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
