package notebook

import (
	"strconv"
	"strings"
	"testing"
)

// New boxes of a hive stand as the table says most clearly, and it is told where it
// says nothing.
func TestHowNewBoxesStand(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name    string
		rows    string // hive, box, day, place
		stack   string
		want    string // from the bottom up
		asks    string
		guessed bool
	}{
		{"a first row without a day", "Ash;A1;;|Ash;A2;2025-04-01;|Ash;A3;2025-04-01;|Ash;A1;2025-05-01;|Ash;A2;2025-05-01;", BottomUp, "A1 A2 A3", "stack Ash", false},
		{"and listed from above", "Ash;A3;;|Ash;A2;2025-04-01;|Ash;A1;2025-04-01;|Ash;A3;2025-05-01;|Ash;A2;2025-05-01;", TopDown, "A1 A2 A3", "stack Ash", false},
		{"that box has no row beside", "Ash;A1;;|Ash;A2;2025-04-01;|Ash;A1;2025-05-01;", BottomUp, "A1 A2", "stack Ash", false},
		{"a day in words that are none", "Ash;A1;soon;|Ash;A2;2025-04-01;|Ash;A1;2025-05-01;", BottomUp, "A1 A2", "stack Ash", false},
		{"without a day between two days", "Ash;A2;2025-04-01;|Ash;A1;;|Ash;A2;2025-05-01;|Ash;A1;2025-06-01;", BottomUp, "A2 A1", "stack Ash", true},
		{"far from the hive's rows", "Ash;A1;;|Fir;F1;2025-04-01;|Ash;A2;2025-04-01;|Ash;A1;2025-05-01;", BottomUp, "A2 A1", "stack Ash", true},
		{"one was left out at first", "Ash;A1;2025-04-01;|Ash;A3;2025-04-01;|Ash;A1;2025-05-01;|Ash;A2;2025-05-01;|Ash;A3;2025-05-01;", BottomUp, "A1 A2 A3", "stack Ash", false},
		{"sorted by box", "Ash;A2;2025-05-01;|Ash;A1;2025-04-01;|Ash;A1;2025-05-01;|Ash;A2;2025-04-01;|Ash;A3;2025-04-01;", BottomUp, "A2 A1 A3", "stack Ash", true},
		{"mostly so", "Ash;A2;2025-04-01;|Ash;A1;2025-04-01;|Ash;A1;2025-05-01;|Ash;A2;2025-05-01;|Ash;A1;2025-06-01;|Ash;A2;2025-06-01;", BottomUp, "A1 A2", "stack Ash", false},
		{"in a circle", "Ash;A1;2025-04-01;|Ash;A2;2025-04-01;|Ash;A2;2025-05-01;|Ash;A3;2025-05-01;|Ash;A3;2025-06-01;|Ash;A1;2025-06-01;", BottomUp, "A1 A2 A3", "stack Ash", true},
		{"words for marks", "Ash;Super 1;2025-04-01;|Ash;Super 2;2025-04-01;|Ash;Brood;2025-05-01;", "", "Brood Super 1 Super 2", "", false},
		{"of two tongues", "Ash;2. Honigraum;2025-04-01;|Ash;Top super;2025-04-01;|Ash;unterer Brutraum;2025-05-01;|Ash;Brood 2;2025-05-01;", "", "unterer Brutraum Brood 2 2. Honigraum Top super", "", false},
		{"marks that are numbers", "Ash;Box 14;2025-04-01;|Ash;Box 3;2025-04-01;", BottomUp, "Box 14 Box 3", "stack Ash", false},
		{"a word and a number", "Ash;Super;2025-04-01;|Ash;R7;2025-04-01;|Ash;Brood;2025-05-01;|Ash;R7;2025-05-01;", BottomUp, "Brood Super R7", "stack Ash", false},
		{"places of some alone", "Ash;A2;2025-04-01;2|Ash;A3;2025-04-01;|Ash;A1;2025-05-01;1|Ash;A3;2025-06-01;", BottomUp, "A1 A2 A3", "stack Ash", false},
		{"places against the days", "Ash;A1;2025-04-01;2|Ash;A2;2025-04-01;1", "", "A2 A1", "", false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			rows := [][]string{{"Hive", "Box", "Date", "Place in the stack", "Kind", "How hard", "Apiary", "Scraped"}}
			for _, row := range strings.Split(tt.rows, "|") {
				rows = append(rows, append(strings.Split(row, ";"), "deep", "2", "Orchard", "all"))
			}
			c, choices := smallClub(), suggest(rows)
			if asks := askedOf(Look(rows, choices, c, someday)); asks != tt.asks {
				t.Errorf("asks %q, want %q", asks, tt.asks)
			}
			choices.Stack = tt.stack
			res := Read(rows, choices, c, 1, someday)
			var got []string
			for _, h := range c.Apiaries[0].Hives {
				for _, b := range h.Boxes {
					if h.Name == "Ash" {
						got = append(got, b.Name)
					}
				}
			}
			if strings.Join(got, " ") != tt.want || res.Stacked > 0 != tt.guessed || tt.guessed && res.StackedIn[0] != "Ash" {
				t.Errorf("they stand %q, guessed in %d %v; want %q, %t", got, res.Stacked, res.StackedIn, tt.want, tt.guessed)
			}
		})
	}
}

// Where a word says that a box is of the brood or a super, its kind follows from that.
func TestASuperAloneIsNoLowestBox(t *testing.T) {
	t.Parallel()
	rows := [][]string{
		{"Apiary", "Hive", "Box", "Date", "How hard"},
		{"Orchard", "Ash", "Super 2", "2025-04-01", "2"},
		{"Orchard", "Fir", "Brood 2", "2025-04-01", "2"},
		{"Orchard", "Fir", "Brood 1", "2025-04-01", "2"},
		{"Orchard", "Yew", "Y7", "2025-04-01", "2"},
	}
	c, choices := smallClub(), suggest(rows)
	choices.Lowest, choices.Upper = "deep", "shallow"
	res := Read(rows, choices, c, 1, someday)
	kinds := map[string]string{}
	for _, h := range c.Apiaries[0].Hives[1:] {
		for _, b := range h.Boxes {
			kinds[b.Name] = b.Kind
		}
	}
	for name, want := range map[string]string{"Super 2": "shallow", "Brood 2": "deep", "Brood 1": "deep", "Y7": "deep"} {
		if kinds[name] != want {
			t.Errorf("%s is %q, want %q; asks %q", name, kinds[name], want, askedOf(res))
		}
	}
}

func TestSpots(t *testing.T) {
	t.Parallel()
	for s, want := range map[string]spot{
		"bottom": 100, "Unten": 100, "brood": 201, "Brood box": 201, "Brutraum": 201, "lower brood": 200, "upper brood box": 299, "Brood 2": 202, "2nd brood box": 202, "BR2": 202,
		"middle": 300, "Super": 401, "super 1": 401, "SUPER2": 402, "Honigraum 3": 403, "2. Honigraum": 402, "oberer Honigraum": 499, "top": 900, "oben": 900, "HR": 401,
	} {
		if got, _, ok := spotOf(s); got != want || !ok {
			t.Errorf("%q is at %d, %t; want %d", s, got, ok, want)
		}
	}
	for s, want := range map[string]int{"Zarge 1": 1, "Box 3": 3, "2. Zarge": 2, "3rd level": 3} {
		if _, at, ok := spotOf(s); at != want || !ok {
			t.Errorf("%q is at %d, %t; want %d", s, at, ok, want)
		}
	}
	for _, s := range []string{"", "7", "R14", "deep", "Zarge", "super 1 2", "super 99", "top 2", "blue", "superb", "mittlere Zarge"} {
		if got, at, ok := spotOf(s); ok {
			t.Errorf("%q is taken for %d, %d", s, got, at)
		}
	}
	for s, want := range map[string]spot{"Brood": 201, "Super 2": 402, "HR": 0, "BR1": 0, "Zarge 3": 0, "": 0, "A7": 0} {
		if got := spotOfMark(s); got != want {
			t.Errorf("a box marked %q is at %d, want %d", s, got, want)
		}
	}
}

// A table may say that a hive has as many boxes as it has rows: they are not held
// against each other, and come in as they stand there.
func TestAHiveOfTooManyBoxes(t *testing.T) {
	t.Parallel()
	rows := [][]string{{"Apiary", "Hive", "Box", "Kind", "Date", "How hard"}}
	for i := range 20_000 {
		rows = append(rows, []string{"Orchard", "Ash", "A" + strconv.Itoa(i), "deep", "2025-04-01", "2"})
	}
	c, choices := smallClub(), suggest(rows)
	choices.Stack = BottomUp
	res := Read(rows, choices, c, 1, someday)
	if got := standing(c, "Ash"); len(got) != 20_000 || got[1] != "A1" || res.Stacked != 1 {
		t.Errorf("%s; %d stand, guessed in %d", sum(res), len(got), res.Stacked)
	}
}
