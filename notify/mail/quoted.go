package mail

import "strings"

// quotedWidth is the most characters in a line of quoted-printable, without
// the "=" that may end it (RFC 2045, 6.7).
const quotedWidth = 75

// plain are the characters that stand for themselves.
var plain = func() (is [256]bool) {
	for c := '!'; c <= '~'; c++ {
		is[c] = c != '='
	}
	is[' '], is['\t'] = true, true
	return is
}()

// appendQuoted appends s as quoted-printable text, its line ends as CRLF: what
// mime/quotedprintable writes, which looks at each byte twice over and took a
// fifth of the time of a mail.
func appendQuoted(out []byte, s string) []byte {
	column := 0
	escape := func(c byte) {
		const digits = "0123456789ABCDEF"
		if column > quotedWidth-3 {
			out = append(out, "=\r\n"...)
			column = 0
		}
		out = append(out, '=', digits[c>>4], digits[c&15])
		column += 3
	}
	endLine := func() { // a space there would get lost
		if n := len(out) - 1; column > 0 && (out[n] == ' ' || out[n] == '\t') {
			c := out[n]
			out, column = out[:n], column-1
			escape(c)
		}
	}
	for len(s) > 0 {
		run := 0
		for run < len(s) && plain[s[run]] {
			run++
		}
		for run > 0 {
			if column == quotedWidth {
				out = append(out, "=\r\n"...)
				column = 0
			}
			n := min(run, quotedWidth-column)
			out = append(out, s[:n]...)
			s, run, column = s[n:], run-n, column+n
		}
		switch {
		case len(s) == 0:
		case s[0] == '\n', s[0] == '\r':
			endLine()
			out = append(out, "\r\n"...)
			column = 0
			if strings.HasPrefix(s, "\r\n") {
				s = s[1:]
			}
			s = s[1:]
		default:
			escape(s[0])
			s = s[1:]
		}
	}
	endLine()
	return out
}
