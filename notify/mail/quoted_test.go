package mail

import (
	"bytes"
	"mime/quotedprintable"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// What is written is, byte for byte, what the standard library writes. (Not
// tried: a CR alone, after which the library may lose a line end.)
func TestQuoted(t *testing.T) {
	words := rapid.Map(rapid.String(), func(s string) string { return strings.ReplaceAll(s, "\r", "") })
	pieces := rapid.OneOf(words, rapid.SampledFrom([]string{
		"=", " ", "\t", " \n", "\n", "\r\n", "\t\r\n", "°", "ü", strings.Repeat("x", 74), strings.Repeat("y", 75), strings.Repeat("z", 76), "-- \n", ".\n", "From ",
	}))
	rapid.Check(t, func(r *rapid.T) {
		s := strings.Join(rapid.SliceOf(pieces).Draw(r, "pieces"), "")
		var want bytes.Buffer
		w := quotedprintable.NewWriter(&want)
		w.Write([]byte(s))
		w.Close()
		if got := appendQuoted(nil, s); string(got) != want.String() {
			r.Fatalf("%q is written as\n%q, want\n%q", s, got, want.String())
		}
	})
}
