package scheduler

import "testing"

func TestUnwritable(t *testing.T) {
	for s, want := range map[string]rune{
		"R14":                 0,
		"Ruhe an der Mühle 🐝": 0,
		"بيت النحل":           0,
		"नमस्ते":              0,
		"a\uFFFDb":            0, // a replacement that somebody wrote is a character
		"a\x00b":              0x00,
		"a\x1bb":              0x1b,
		"a\u0085b":            0x85,
		"a\u202eb":            0x202e,
		"a\u2066b":            0x2066,
		"a\u200fb":            0x200f,
		"a\u061cb":            0x61c,
		"a\xffb":              0xfffd,
		"two\nlines":          '\n',
		"a\ttab":              '\t',
	} {
		got, found := Unwritable(s, false)
		if wanted := want != 0 || s == "a\x00b"; got != want || found != wanted {
			t.Errorf("%q: U+%04X, %v; want U+%04X", s, got, found, want)
		}
	}
	if r, found := Unwritable("two\r\nlines\tand a tab", true); found {
		t.Errorf("a note may not have U+%04X", r)
	}
	if _, found := Unwritable("a\vb", true); !found {
		t.Error("a note may have a vertical tab")
	}
}

func TestInvisible(t *testing.T) {
	for s, want := range map[string]bool{
		"":                   true,
		" \u00a0\u2003":      true,
		"\u200b\u200d\ufeff": true, // zero width space, joiner, byte order mark
		"\u3164\u115f\uffa0": true, // Hangul fillers
		"\u2800":             true, // braille without a dot
		"\ufe0f\U000e0100":   true, // variation selectors
		"\u00ad\u034f":       true, // soft hyphen, grapheme joiner
		"\u200b1":            false,
		"👨\u200d🌾":           false,
		"-":                  false,
		"é":                  false,
	} {
		if got := Invisible(s); got != want {
			t.Errorf("%q: %v", s, got)
		}
	}
}
