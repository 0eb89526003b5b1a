package smtp

import (
	"bytes"
	"slices"
)

// Letter is one rendered message with its envelope.
type Letter struct {
	From string // the sender's address, without angle brackets
	To   string // the one recipient's
	Text []byte // header and body, lines ending in CRLF
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

// WholeLines puts a CRLF in the place of every line end that is none. Servers
// disagree about bare ones, and one that takes a bare LF for a line end can be
// made to see the end of the message, and another message, within its text.
func WholeLines(text []byte) []byte {
	ends := bytes.Count(text, []byte("\r\n"))
	if bytes.Count(text, []byte("\n")) == ends && bytes.Count(text, []byte("\r")) == ends {
		return text
	}
	text = bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))
	text = bytes.ReplaceAll(text, []byte("\r"), []byte("\n"))
	return bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n"))
}
