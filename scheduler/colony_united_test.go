package scheduler

import (
	"slices"
	"testing"
	"time"
)

// Bees joined a hive at another apiary, and all of their boxes went into the store: what
// was known of their gluing counts there, also where only that apiary is planned.
func TestBeesCountThatJoinedWithoutABox(t *testing.T) {
	today, setUp := NewDate(2027, time.September, 10), NewDate(2026, time.May, 1)
	for _, queen := range []Queen{QueenGoes, QueenUnknown, QueenStays} {
		c := larchAndRowan(setUp)
		c.Apiaries[1].Hives, c.Apiaries[0].Hives = c.Apiaries[0].Hives[1:], c.Apiaries[0].Hives[:1:1]
		c.Apiaries[0].Hives[0].Boxes[0].Openings = []Opening{{ID: "o", On: today - 40, Joint: Stuck, Frames: Stuck, Scraped: ScrapedAll}}
		alone := ReplayApiary(c, 6, today)
		if _, err := c.Happen(&ColonyStep{ID: "u", HiveID: 11, What: United, On: today - 9, OtherID: 12, Order: []int64{3, 4}, Queen: queen}, today); err != nil {
			t.Fatal(err)
		}
		all := Replay(c, today) // no box is left at the first apiary
		if got := ReplayApiary(c, 6, today); !slices.Equal(got, all[:2]) {
			t.Errorf("queen %s: planned alone %v, with all %v", queen, got, all[:2])
		}
		if goes := all[0].Mean > 0 && alone[0].Mean == 0; queen == QueenGoes && !goes {
			t.Errorf("queen %s: %v, before %v", queen, all[:2], alone)
		}
		if err := c.MayUndo(11, "u"); err != nil {
			t.Error(err)
		}
	}
}
