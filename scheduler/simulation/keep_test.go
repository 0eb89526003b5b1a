package simulation

import (
	"slices"
	"testing"
)

// TestSwaps: boxes change places with their seals when both are open, with
// their records where it is noted.
func TestSwaps(t *testing.T) {
	y := NewImperfectClub(4, Size{Apiaries: 1, Hives: 3, Boxes: 2, Years: 3, History: 1}, DefaultImperfect()).yards[0]
	on := y.club.from + 150
	for _, noted := range []bool{true, false} {
		k := y.begin(false)
		i, j := 0, y.at(1, 0)
		k.wished, k.swaps = on.Year(), []swap{{i, j, noted}}
		first, second := k.book.box(i).ID, k.book.box(j).ID
		stands := slices.Clone(k.stands)
		k.seals[i], k.seals[j] = seal{on, 0.1}, seal{on, 0.2}

		k.swapBoxes([]found{{at: i}}, on)
		if !slices.Equal(k.stands, stands) || len(k.swaps) != 1 {
			t.Fatal("a box changed places with one that was shut")
		}
		k.swapBoxes([]found{{at: j}, {at: i}}, on)
		if k.stands[i] != stands[j] || k.stands[j] != stands[i] || k.seals[i].left != 0.2 || k.seals[j].left != 0.1 || len(k.swaps) != 0 {
			t.Errorf("after the swap %v stand there, with seals %v and %v", k.stands, k.seals[i], k.seals[j])
		}
		if moved := k.book.box(i).ID == second && k.book.box(j).ID == first; moved != noted {
			t.Errorf("the records say %d and %d, noted: %t", k.book.box(i).ID, k.book.box(j).ID, noted)
		}
		if !noted {
			continue
		}
		places := k.book.box(i).Places
		last := places[len(places)-1]
		if len(places) != 2 || places[0].HiveID != k.book.apiary.Hives[1].ID || last.HiveID != k.book.apiary.Hives[0].ID ||
			last.From != on || last.Position != 1 || places[0].From != y.club.began {
			t.Errorf("places %+v", places)
		}
		if kept := y.begin(false); len(kept.book.box(i).Places) > 0 && kept.book.box(i).ID == second {
			t.Error("another keep has moved as well")
		}
	}
}
