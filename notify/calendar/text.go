package calendar

import (
	"strings"
	"unicode/utf8"
)

// maxRunes bounds any one text, so that one pasted novel cannot fill a feed.
const maxRunes = 8000

// Clean returns s as a feed carries it: valid UTF-8, every line break a plain
// newline, no control characters, at most 8000 characters. Decoders read back
// exactly this.
func Clean(s string) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	s = strings.ReplaceAll(s, "\r\n", "\n")
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\r', r == '\v', r == '\f', r == 0x85, r == 0x2028, r == 0x2029:
			return '\n' // some parsers break lines at these as well
		case r == '\t':
			return ' '
		case r < 0x20, r >= 0x7f && r < 0xa0, r == 0xfeff:
			return -1
		}
		return r
	}, s)
	if utf8.RuneCountInString(s) > maxRunes {
		runes := []rune(s)
		s = string(runes[:maxRunes-1]) + "…"
	}
	return s
}

// CleanLine is Clean for texts of one line: line breaks become spaces and the
// ends are trimmed.
func CleanLine(s string) string {
	return strings.TrimSpace(strings.ReplaceAll(Clean(s), "\n", " "))
}

var escaper = strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\n", `\n`)

// escape writes a cleaned text as a TEXT value (RFC 5545, section 3.3.11).
func escape(clean string) string { return escaper.Replace(clean) }
