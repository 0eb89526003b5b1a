package mail

import (
	"strings"
	"testing"
	"unicode"

	"pgregory.net/rapid"

	_ "pryday/testdata/testrun" // the same zones and lots in every run
)

// What the quick look lets through, the slow way leaves as it is.
func TestOneLine(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		s := rapid.OneOf(rapid.String(), rapid.StringOf(rapid.RuneFrom([]rune("ab °\n\r\t\u00a0\u2028\u3000\u0085\ufeff\ufffd\x7f")))).Draw(r, "text")
		if rapid.Bool().Draw(r, "cut") && len(s) > 0 {
			s = s[1:] // perhaps in the middle of a character
		}
		got := oneLine(s)
		if want := strings.Join(strings.Fields(got), " "); got != want || strings.ContainsFunc(got, unicode.IsControl) || strings.ContainsAny(got, "\ufeff\u2028") {
			r.Fatalf("%q became %q", s, got)
		}
		if got != oneLine(got) || isOneLine(s) != (got == s) && !strings.Contains(s, "\ufffd") {
			r.Fatalf("%q became %q; seen as one line: %t", s, got, isOneLine(s))
		}
	})
}
