package store

import "strings"

// validText makes what a stranger sent fit for a text column: valid UTF-8, no
// NUL, at most max bytes.
func validText(s string, max int) string {
	if len(s) > max {
		s = s[:max]
	}
	return strings.ReplaceAll(strings.ToValidUTF8(s, ""), "\x00", "")
}

func replaceOnce(s, old, now string) string { return strings.Replace(s, old, now, 1) }
