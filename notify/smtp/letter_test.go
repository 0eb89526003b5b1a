package smtp

import (
	"bufio"
	"bytes"
	"net/textproto"
	"testing"

	"pgregory.net/rapid"

	_ "pryday/testdata/testrun" // the same zones and lots in every run
)

// TestStuffed: what goes after DATA reads back as the text, by the rules of
// another implementation, whatever dots and line ends it holds.
func TestStuffed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces := rapid.SliceOf(rapid.SampledFrom([]string{".", "..", "a", "\r\n", "\n", "\r", "\r\n.\r\n", "\n.\n", "\r.\r", "é", ""})).Draw(t, "pieces")
		text := WholeLines([]byte(join(pieces)))
		for i, c := range text {
			if c == '\n' && (i == 0 || text[i-1] != '\r') || c == '\r' && (i+1 == len(text) || text[i+1] != '\n') {
				t.Fatalf("%q keeps a bare line end", text)
			}
		}
		l := Letter{Text: text}
		wire := append(l.stuffed(), ".\r\nQUIT\r\n"...)
		r := textproto.NewReader(bufio.NewReader(bytes.NewReader(wire)))
		got, err := r.ReadDotBytes()
		if err != nil {
			t.Fatal(err)
		}
		want := bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))
		if !bytes.HasSuffix(want, []byte("\n")) {
			want = append(want, '\n')
		}
		if !bytes.Equal(got, want) {
			t.Fatalf("%q came back as %q, want %q", text, got, want)
		}
		if rest, err := r.ReadLine(); err != nil || rest != "QUIT" {
			t.Fatalf("after the text comes %q, %v", rest, err)
		}
	})
}

func join(pieces []string) string {
	var b bytes.Buffer
	for _, p := range pieces {
		b.WriteString(p)
	}
	return b.String()
}
