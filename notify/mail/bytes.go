package mail

import (
	"bytes"
	"io"

	gomail "github.com/wneessen/go-mail"
)

// Message is a message to send.
type Message struct {
	*gomail.Msg
	text bytes.Buffer // what is written so far
}

// Bytes writes the message, lines ending in CRLF. The next call writes it anew.
func (m *Message) Bytes() ([]byte, error) {
	m.text = bytes.Buffer{}
	m.text.Grow(32 << 10) // most, without copying as it grows
	if _, err := m.Msg.WriteTo(&m.text); err != nil {
		return nil, err
	}
	return m.text.Bytes(), nil
}

// WriteTo writes the message to w.
func (m *Message) WriteTo(w io.Writer) (int64, error) {
	text, err := m.Bytes()
	if err != nil {
		return 0, err
	}
	n, err := w.Write(text)
	return int64(n), err
}

// body returns what go-mail calls where a body belongs. The body goes straight
// into the message, encoded: what go-mail would do for it takes several times
// as long.
func (m *Message) body(s string) func(io.Writer) (int64, error) {
	return func(io.Writer) (int64, error) {
		before := m.text.Len()
		m.text.Write(appendQuoted(m.text.AvailableBuffer(), s))
		return int64(m.text.Len() - before), nil
	}
}

// encoding is quoted-printable, by a name that is as good (RFC 2045, 6.1) and
// that go-mail does not know: what it knows it collects before it writes it.
const encoding gomail.Encoding = "Quoted-Printable"
