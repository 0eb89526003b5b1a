package scheduler

import (
	"math/rand/v2"
	"testing"
)

// TestAnEarlierHarderOpeningIsNeverLater raises the difficulty of any opening of drawn
// histories, also of one that later ones contradict, and holds the odds of its box. Two
// things can lower them, and no more than one history in 500 may: moments are kept of
// contradicting openings, not all that is known (then the page names the one that is
// outweighed), and where a box may have been opened unwritten a harder opening is rather
// one of an older seal. Whoever first writes "light" gives all grades another meaning:
// such histories are left out.
func TestAnEarlierHarderOpeningIsNeverLater(t *testing.T) {
	raised, lower := 0, 0
	for seed := range uint64(6000) {
		r := rand.New(rand.NewPCG(seed, 1))
		c := contradicting(r)
		boxes := c.Apiaries[0].Hives[0].Boxes
		b := &boxes[r.IntN(len(boxes))]
		o := &b.Openings[r.IntN(len(b.Openings))]
		if o.Joint == Stuck || o.Joint == Loose {
			continue
		}
		s := NewSeason(c.Apiaries[0].Place(), &c.Rules)
		today := NewDate(2027, 3, 1)
		was, _ := Replay(c, today).Of(b.ID)
		o.Joint++
		is, _ := Replay(c, today).Of(b.ID)
		raised++
		for _, d := range []Date{today, today + 90, today + 200} {
			// between 0.01 and 0.9 lie the limits that rules may set
			if before, after := was.Odds(s, d, Hard), is.Odds(s, d, Hard); after < before-1e-9 && before > 0.01 && after < 0.9 {
				lower++
				break
			}
		}
	}
	if raised < 2000 || lower > raised/500 {
		t.Errorf("a harder opening lowers the odds in %d of %d histories", lower, raised)
	}
}

// contradicting draws a hive of one to three boxes with openings that have nothing to do
// with how long their boxes waited, a light one among them, and visits without records.
func contradicting(r *rand.Rand) *Club {
	setUp := NewDate(2024, 4, 1)
	var boxes []Box
	for id := range int64(1 + r.IntN(3)) {
		box, on := Box{ID: id + 1, SetUpOn: setUp}, setUp
		for range 1 + r.IntN(6) {
			on += Date(10 + r.IntN(250))
			box.Openings = append(box.Openings, Opening{
				On: on, Joint: Difficulty(r.IntN(5)), Frames: NotTried, Scraped: []Scraped{ScrapedAll, ScrapedPart, ScrapedNone}[r.IntN(3)],
			})
		}
		boxes = append(boxes, box)
	}
	c := twoHives(boxes, []Box{{ID: 9, SetUpOn: setUp, Openings: []Opening{{On: setUp + 90, Joint: Light}}}})
	for range r.IntN(4) {
		v := Visit{ApiaryID: 1, Status: Done, On: NewDate(2026, 1, 1) + Date(r.IntN(400))}
		for i := range boxes {
			if r.IntN(2) == 0 {
				v.Boxes = append(v.Boxes, VisitBox{BoxID: boxes[i].ID})
			}
		}
		c.Visits = append(c.Visits, v)
	}
	return c
}
