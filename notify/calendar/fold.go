package calendar

import (
	"bytes"
	"unicode/utf8"
)

// maxOctets is the longest content line without its line break (RFC 5545,
// section 3.1).
const maxOctets = 75

// folder is a writer that folds content lines: no line is longer than
// maxOctets, and no rune is split. The encoder above it never folds.
type folder struct {
	out  bytes.Buffer
	line bytes.Buffer // the line begun and not yet ended
}

// Write takes content lines that end in CRLF. It never fails.
func (f *folder) Write(p []byte) (int, error) {
	n := len(p)
	for {
		i := bytes.Index(p, []byte("\r\n"))
		if i < 0 {
			f.line.Write(p)
			return n, nil
		}
		f.line.Write(p[:i])
		f.fold(f.line.Bytes())
		f.line.Reset()
		p = p[i+2:]
	}
}

func (f *folder) fold(line []byte) {
	room := maxOctets
	for len(line) > room {
		cut := room
		for cut > 0 && !utf8.RuneStart(line[cut]) {
			cut--
		}
		f.out.Write(line[:cut])
		f.out.WriteString("\r\n ")
		line = line[cut:]
		room = maxOctets - 1 // the space counts
	}
	f.out.Write(line)
	f.out.WriteString("\r\n")
}
