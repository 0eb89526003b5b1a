package mail

import (
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// A mail has the numbers of those who go along, for whoever is on the visit too.
func TestWhoGoesWithNumbers(t *testing.T) {
	t.Parallel()
	c, p := smallClub()
	c.Member(11).Phone = "01 234\r\n56"
	visit := &p.Visits[0]
	for reader, want := range map[int64]string{
		13: "you with Maren Okoro (01 234 56)",
		11: "you with Ines Varga-Lund",
		12: "Ines Varga-Lund and Maren Okoro",
	} {
		r := &reminder{Input: &Input{Club: c, Member: c.Member(reader)}, say: &text.Speaker{}}
		if got := r.going(visit); got != want {
			t.Errorf("member %d reads %q, want %q", reader, got, want)
		}
	}
	visit.Taken, visit.Status = nil, scheduler.Tentative
	r := &reminder{Input: &Input{Club: c, Member: c.Member(13)}, say: &text.Speaker{}}
	if got, want := r.going(visit), "nobody has said so yet; expected: Ines Varga-Lund and Maren Okoro (01 234 56)"; got != want {
		t.Errorf("before anybody said so: %q, want %q", got, want)
	}
}
