package scheduler

import (
	"strings"
	"testing"
)

// What people write for a number: common practice, no source.
func TestIsPhone(t *testing.T) {
	t.Parallel()
	for s, want := range map[string]bool{
		"": true, "112": true, "+43 (0)664 123 45-67": true, "0664/1234567 (abends)": true, "١٢٣٤": true, "01 234, ext. 5": true,
		"12": false, "call me": false, "1234<b>": false, "123\n456": false, "ines@example.org 123": false,
		strings.Repeat("1", 40): true, strings.Repeat("1", 41): false,
	} {
		if got := IsPhone(s); got != want {
			t.Errorf("%q is a phone number: %v, want %v", s, got, want)
		}
	}
}

func TestPhonesAreForThoseWhoShareAVisit(t *testing.T) {
	t.Parallel()
	c := &Club{Members: []Member{
		{ID: 1, Role: Organiser, Phone: "111"}, {ID: 2, Role: Keeper, Phone: "222"}, {ID: 3, Role: Keeper, Phone: "333"}, {ID: 4, Role: Keeper, Phone: "444"}, {ID: 5, Role: Keeper},
	}}
	for _, row := range []struct {
		name           string
		reader, member int64
		status         VisitStatus
		want           string
	}{
		{"both are expected", 2, 3, Confirmed, "333"},
		{"both were, and nobody said a word", 2, 3, Unanswered, "333"},
		{"both were, and it is over", 2, 3, Done, ""},
		{"called off", 2, 3, Cancelled, ""},
		{"the reader is not expected", 4, 3, Confirmed, ""},
		{"the other is not", 2, 4, Confirmed, ""},
		{"an organiser", 1, 3, Tentative, "333"},
		{"an organiser, and it is over", 1, 3, Done, ""},
		{"one's own", 2, 2, Confirmed, ""},
		{"none is entered", 2, 5, Confirmed, ""},
		{"a stranger", 0, 3, Confirmed, ""},
	} {
		if got := c.PhoneFor(row.reader, row.member, &Visit{Who: []int64{2, 3, 5}, Status: row.status}); got != row.want {
			t.Errorf("%s: %q, want %q", row.name, got, row.want)
		}
	}
}
