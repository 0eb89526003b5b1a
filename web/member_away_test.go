package web

import (
	"net/http"
	"testing"
)

// TestDaysAwayAreSaidWhole: what was added is said from its first day to its last.
func TestDaysAwayAreSaidWhole(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.as("Brida")
	for _, tt := range []struct{ from, until, en, de string }{
		{"2027-06-29", "2027-07-02", "Added: away from 29 June 2027 to 2 July 2027.", "Eingetragen: abwesend vom 29. Juni 2027 bis 2. Juli 2027."},
		{"2027-08-03", "2027-08-03", "Added: away on 3 August 2027.", "Eingetragen: abwesend am 3. August 2027."},
		{"2027-10-01", "", "Added: away from 1 October 2027, until further notice.", "Eingetragen: abwesend ab 1. Oktober 2027, bis auf Weiteres."},
	} {
		for _, said := range [][2]string{{"en", tt.en}, {"de", tt.de}} {
			c.speaks("Brida", said[0])
			b.follow("/preferences/away", fields("from", tt.from, "until", tt.until)).says(http.StatusOK, said[1])
		}
	}
}
