package feed

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// written is a calendar of entries, each with a UID and a text.
func written(entries []string) []byte {
	var out strings.Builder
	out.WriteString("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n")
	for _, uid := range entries {
		fmt.Fprintf(&out, "BEGIN:VEVENT\r\nDTSTAMP:20270503T090000Z\r\nUID:%s@pryday\r\nSUMMARY:Open four boxes\r\nEND:VEVENT\r\n", uid)
	}
	out.WriteString("END:VCALENDAR\r\n")
	return []byte(out.String())
}

func unpack(t interface{ Fatal(...any) }, packed []byte) []byte {
	r, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// Whatever of a calendar was packed before, the standard library reads the same
// text from it, and the bytes are those of one that is packed whole.
func TestPackedAnewIsPackedWhole(t *testing.T) {
	torn := rapid.SampledFrom([]string{"", "\r\n", "\r\nBEGIN:VEVENT\r\n", "\r\nBEGIN:VEVENT\r\nUID:"})
	rapid.Check(t, func(t *rapid.T) {
		// Most entries stay as they are, in their order.
		first := rapid.SliceOfN(rapid.StringMatching(`[0-9a-f]{8}`), 0, 200).Draw(t, "entries")
		second := slices.Clone(first)
		for range rapid.IntRange(0, 4).Draw(t, "changes") {
			at := rapid.IntRange(0, len(second)).Draw(t, "at")
			second = slices.Insert(second, at, rapid.StringMatching(`[0-9a-f]{8}`).Draw(t, "more"))
		}
		before := append(written(first), torn.Draw(t, "torn")...)
		now := append(written(second), torn.Draw(t, "torn now")...)
		older := pack(before, nil)
		anew, whole := pack(now, older.pieces), pack(now, nil)
		if got := unpack(t, anew.bytes); !bytes.Equal(got, now) {
			t.Errorf("%q was packed, and this is in it: %q", now, got)
		}
		if !bytes.Equal(anew.bytes, whole.bytes) || anew.tag != whole.tag {
			t.Errorf("beside older pieces %x, tag %s; whole %x, tag %s", anew.bytes, anew.tag, whole.bytes, whole.tag)
		}
		if (older.tag == anew.tag) != bytes.Equal(before, now) {
			t.Errorf("tags %s and %s of %q and %q", older.tag, anew.tag, before, now)
		}
	})
}

// One entry more moves no piece but its own: of thousands, next to nothing is
// compressed anew.
func TestAnEntryMoreLeavesOtherPieces(t *testing.T) {
	var entries []string
	for i := range 2000 {
		entries = append(entries, fmt.Sprintf("%08x", i*2654435761))
	}
	before := pack(written(entries), nil)
	now := pack(written(slices.Insert(entries, 999, "one-more")), before.pieces)
	fresh := 0
	for sum := range now.pieces {
		if _, ok := before.pieces[sum]; !ok {
			fresh++
		}
	}
	if n := len(now.pieces); n < 2000/perPiece/2 || fresh == 0 || fresh > 2 {
		t.Errorf("%d of %d pieces are new", fresh, n)
	}
}

// BenchmarkPack packs a calendar of a thousand entries of which one changed, and whole.
func BenchmarkPack(b *testing.B) {
	var entries []string
	for i := range 1000 {
		entries = append(entries, fmt.Sprintf("%08x", i*2654435761)+strings.Repeat(fmt.Sprint(i), 100))
	}
	before := pack(written(entries), nil)
	entries[500] += "changed"
	text := written(entries)
	for name, older := range map[string]pieces{"one changed": before.pieces, "whole": nil} {
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			for b.Loop() {
				pack(text, older)
			}
		})
	}
}
