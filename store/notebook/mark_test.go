package notebook

import (
	"slices"
	"strings"
	"testing"

	"pryday/scheduler"
)

// standing are the boxes of a hive from the bottom up.
func standing(c *scheduler.Club, hive string) (out []string) {
	for a := range c.Apiaries {
		for _, h := range c.Apiaries[a].Hives {
			for _, b := range h.Boxes {
				if h.Name == hive {
					out = append(out, b.Name)
				}
			}
		}
	}
	return out
}

func cellsOf(head string, rows ...string) [][]string {
	out := [][]string{strings.Split(head, ";")}
	for _, row := range rows {
		out = append(out, strings.Split(row, ";"))
	}
	return out
}

// A column of words for the place, beside painted marks that most boxes have not, and
// that two of one hive may share.
func TestPlacesInWords(t *testing.T) {
	t.Parallel()
	rows := cellsOf("Stand;Hive no;Part;Paint;Kind;Date;How hard",
		"Orchard;Ash;Super 1;white X;deep;2025-04-01;2", "Orchard;Ash;Brood;white X;deep;2025-04-01;1", "Orchard;Ash;Super 2;;deep;2025-04-01;0",
		"Orchard;Fir;Super 1;;deep;2025-04-01;2", "Orchard;Fir;Brood;red;deep;2025-04-01;2", "Orchard;Fir;Brood;red;deep;2025-05-01;2",
		"Orchard;Yew;Oben;;deep;2025-05-01;2", "Orchard;Yew;Brutraum;;deep;2025-05-01;2", "Orchard;Yew;honeypot;;deep;2025-05-01;2",
		"Orchard;Fir;;;deep;2025-06-01;2")
	choices, c := suggest(rows), smallClub()
	if want := []Field{Apiary, Hive, Position, Box, Kind, Day, HowHard}; !slices.Equal(choices.Columns, want) {
		t.Fatalf("the columns are %q, want %q", choices.Columns, want)
	}
	choices.Unmarked = LowestOf
	res := Read(rows, choices, c, 1, someday)
	for hive, want := range map[string][]string{
		"Ash": {"white X (Brood)", "white X (Super 1)", "Ash-Super 2"}, "Fir": {"red", "Fir-Super 1"}, "Yew": {"Yew-Brutraum", "Yew-Oben"},
	} {
		if got := standing(c, hive); !slices.Equal(got, want) {
			t.Errorf("%s: %q, want %q; asks %q", hive, got, want, askedOf(res))
		}
	}
	if res.Openings != 9 || res.Stacked != 0 || len(res.Refused) != 1 || res.Refused[0].Why[0].Key != "sheet.why.position" || res.Refused[0].Why[0].Args[0] != "Part" {
		t.Errorf("%s; refused %v", sum(res), res.Refused)
	}
	if again := Look(rows, choices, c, someday); again.Openings+again.Boxes > 0 || again.Known != 9 || len(again.Refused) != 1 {
		t.Errorf("a second time %s; refused %v", sum(again), again.Refused)
	}
	later := cellsOf("Stand;Hive no;Part;Paint;Kind;Date;How hard",
		"Orchard;Ash;Brood;white X;deep;2026-04-01;2", "Orchard;Ash;Super 2;;deep;2026-04-01;2", "Orchard;Ash;Super 3;;deep;2026-04-01;2", "Orchard;Yew;Brood;;deep;2026-05-01;2")
	if res := Read(later, suggest(later), c, 1, someday); res.Openings != 4 || res.Boxes != 1 || len(res.Refused) > 0 {
		t.Errorf("a year later %s; refused %v, asks %q", sum(res), res.Refused, askedOf(res))
	}
	if got := standing(c, "Ash"); got[len(got)-1] != "Ash-Super 3" || len(got) != 4 {
		t.Errorf("a year later Ash has %q", got)
	}
}

// On a hive that is there with marks of its own, words mean its boxes as far as that is
// sure.
func TestPlacesInWordsOnAHiveThatIsThere(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ words, want, refused string }{
		{"Brood", "R14", ""},
		{"Top", "R16", ""},
		{"Brood,Super 1,Super 2", "R14 R15 R16", ""},
		{"Brood,Brood 2,Super", "R14 R15 R16", ""},
		{"Brood,Super", "R14", "sheet.why.which-place"},
		{"Super 2", "", "sheet.why.which-place"},
		{"Brood,Super 1,Super 2,Super 3", "R14 R15 R16 Larch-Super 3", ""},
	} {
		rows := cellsOf("Apiary;Hive;Place in the stack;Kind;Date;How hard")
		for _, word := range strings.Split(tt.words, ",") {
			rows = append(rows, []string{"Orchard", "Larch", word, "deep", "2026-05-01", "2"})
		}
		c := smallClub()
		h := &c.Apiaries[0].Hives[0]
		for i, name := range []string{"R15", "R16"} {
			h.Boxes = append(h.Boxes, scheduler.Box{ID: int64(2 + i), Name: name, Kind: "deep", SetUpOn: h.Boxes[0].SetUpOn})
		}
		res := Read(rows, suggest(rows), c, 1, someday)
		var got []string
		for _, b := range c.Apiaries[0].Hives[0].Boxes {
			for _, o := range b.Openings {
				if o.On == scheduler.NewDate(2026, 5, 1) {
					got = append(got, b.Name)
				}
			}
		}
		refused := ""
		if len(res.Refused) > 0 {
			refused = res.Refused[0].Why[0].Key
		}
		if strings.Join(got, " ") != tt.want || refused != tt.refused {
			t.Errorf("%s: opened %q, refused %q, asks %q; want %q, %q", tt.words, got, refused, askedOf(res), tt.want, tt.refused)
		}
	}
}

// A box keeps its mark where it changes its place, unless both stand there on one day.
func TestABoxThatChangesItsPlaceStaysOne(t *testing.T) {
	t.Parallel()
	rows := cellsOf("Apiary;Hive;Place in the stack;Mark;Kind;Date;How hard",
		"Orchard;Ash;Super 1;R1;deep;2025-04-01;2", "Orchard;Ash;Super 2;R1;deep;2025-05-01;2")
	c := smallClub()
	if res := Read(rows, suggest(rows), c, 1, someday); res.Boxes != 1 || res.Openings != 2 {
		t.Errorf("%s; asks %q", sum(res), askedOf(res))
	}
}

// Of two columns called after boxes, that with words for places is no mark.
func TestWordsForPlacesAreNoMarks(t *testing.T) {
	t.Parallel()
	for head, want := range map[string][]Field{
		"Hive;Box;Painted mark;Date": {Hive, Position, Box, Day}, "Hive;Mark;Box;Date": {Hive, Position, Box, Day}, "Hive;Part;Colour;Date": {Hive, Position, "", Day},
	} {
		rows := cellsOf(head, "1;Brood;R1;2025-04-01", "1;Super;R2;2025-04-01", "1;Super;R1;2025-05-01", "1;Brood;R2;2025-05-01")
		if got := Suggest(rows, someday).Columns; !slices.Equal(got, want) {
			t.Errorf("%s: %q, want %q", head, got, want)
		}
	}
	rows := cellsOf("Volk;Art;Datum", "1;Brutzarge;2025-04-01", "2;Brutzarge;2025-04-01", "3;Brutzarge;2025-04-01")
	if got, want := Suggest(rows, someday).Columns, []Field{Hive, Kind, Day}; !slices.Equal(got, want) {
		t.Errorf("kinds: %q, want %q", got, want)
	}
}
