package scheduler

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Unwritable returns the first character of s that no name and no note may
// hold: what is no Unicode, a control character (a note may have line breaks
// and tabs, with lines), or a mark that turns the direction of what follows it
// (Unicode's Bidi_Control), by which a line can be made to read as another one.
func Unwritable(s string, lines bool) (r rune, found bool) {
	for i, r := range s {
		switch {
		case r == utf8.RuneError && !strings.HasPrefix(s[i:], "\uFFFD"):
			return r, true
		case lines && (r == '\n' || r == '\r' || r == '\t'):
		case unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r):
			return r, true
		}
	}
	return 0, false
}

// Invisible reports whether nothing of s can be seen: spaces, joiners, fillers,
// or nothing at all.
func Invisible(s string) bool {
	for _, r := range s {
		filler := unicode.In(r, unicode.Other_Default_Ignorable_Code_Point, unicode.Variation_Selector) || r == blankBraille
		if unicode.IsGraphic(r) && !unicode.IsSpace(r) && !filler {
			return false
		}
	}
	return true
}

const blankBraille = '\u2800' // a symbol without a dot
