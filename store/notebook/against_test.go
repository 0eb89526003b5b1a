package notebook

import (
	"fmt"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/store/records"
)

// TestRowsAgainstTheRecords: what a row says of a box that the club has is known, new,
// or refused with why.
func TestRowsAgainstTheRecords(t *testing.T) {
	t.Parallel()
	r14 := func(c *scheduler.Club) *scheduler.Box { return &c.Apiaries[0].Hives[0].Boxes[0] }
	for _, tt := range []struct {
		name     string
		change   func(*scheduler.Club)
		headings string
		row      string
		choices  func(*Choices)
		want     string // openings, boxes, known
		refused  string
	}{
		{"as hard as recorded", nil, "Apiary;Hive;Box;Date;Difficulty", "Orchard;Larch;R14;2025-04-05;3", nil, "0 0 1", ""},
		{"less hard", nil, "Apiary;Hive;Box;Date;Difficulty", "Orchard;Larch;R14;2025-04-05;1", nil, "0 0 0", "sheet.why.other-answers"},
		{"measured otherwise", nil, "Apiary;Hive;Box;Date;Difficulty;Gap above", "Orchard;Larch;R14;2025-04-05;3;8 mm", nil, "0 0 0", "sheet.why.other-answers"},
		{
			"nothing of scraping", func(c *scheduler.Club) { r14(c).Openings[0].Scraped = scheduler.ScrapedAll },
			"Apiary;Hive;Box;Date;Difficulty", "Orchard;Larch;R14;2025-04-05;3", nil, "0 0 1", "",
		},
		{
			"brought in, and corrected since", func(c *scheduler.Club) {
				o := &r14(c).Openings[0]
				o.ID = records.OpeningID(c.Name, "Orchard", "Larch", "R14", o.On, 0)
				r14(c).Openings = append(r14(c).Openings, scheduler.Opening{
					ID: "0b8b7c1e-1111-4111-8111-000000000002", Supersedes: o.ID, On: o.On, Joint: scheduler.Light, Frames: scheduler.NotTried,
				})
			}, "Apiary;Hive;Box;Date;Difficulty", "Orchard;Larch;R14;2025-04-05;3", nil, "0 0 1", "",
		},
		{"before it was set up", nil, "Apiary;Hive;Box;Date;Difficulty", "Orchard;Larch;R14;2024-04-30;3", nil, "0 0 0", "sheet.why.before-set-up"},
		{
			"after it was retired", func(c *scheduler.Club) {
				c.Spare = []scheduler.Box{{ID: 9, Name: "S9", Kind: "deep", SetUpOn: scheduler.NewDate(2024, 5, 1), RetiredOn: scheduler.NewDate(2025, 1, 1)}}
			}, "Box;Date;Difficulty", "S9;2025-02-01;2", nil, "0 0 0", "sheet.why.after-retired",
		},
		{"of another kind", nil, "Apiary;Hive;Box;Kind;Date;Difficulty", "Orchard;Larch;R14;shallow;2025-05-05;3", nil, "0 0 0", "sheet.why.other-kind"},
		{
			"where it stood before it moved", func(c *scheduler.Club) {
				b := *r14(c)
				b.Places = []scheduler.BoxPlace{
					{From: b.SetUpOn, Where: scheduler.OnHive, HiveID: 1, Position: 1}, {From: scheduler.NewDate(2025, 6, 1), Where: scheduler.OnHive, HiveID: 2, Position: 1},
				}
				c.Apiaries[0].Hives = []scheduler.Hive{{ID: 1, Name: "Larch"}, {ID: 2, Name: "Fir", Boxes: []scheduler.Box{b}}}
			}, "Apiary;Hive;Box;Date;Difficulty", "Orchard;Larch;R14;2025-05-05;2", nil, "1 0 0", "",
		},
		{"a word that says nothing", nil, "Apiary;Hive;Box;Date;Difficulty", "Orchard;Larch;R14;2025-05-05;hm", func(c *Choices) { c.Degrees = map[string]string{"hm": Unsaid} }, "1 0 0", ""},
		{"a new box with no day", nil, "Apiary;Hive;Box;Kind;Date;Difficulty", "Orchard;Larch;Z1;deep;soon;2", nil, "0 0 0", "sheet.why.not-a-day"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := smallClub()
			if tt.change != nil {
				tt.change(c)
			}
			rows := [][]string{strings.Split(tt.headings, ";"), strings.Split(tt.row, ";")}
			choices := suggest(rows)
			if tt.choices != nil {
				tt.choices(choices)
			}
			res := Read(rows, choices, c, 0, someday)
			refused := ""
			if len(res.Refused) > 0 {
				refused = res.Refused[0].Why[0].Key
			}
			if got := fmt.Sprint(res.Openings, res.Boxes, res.Known); got != tt.want || refused != tt.refused || res.Asked.Open() {
				t.Errorf("openings, boxes and known %s, refused %q, asked %q; want %s, %q", got, refused, askedOf(res), tt.want, tt.refused)
			}
			if tt.choices != nil && r14(c).Openings[1].Difficulty() != scheduler.NotTried {
				t.Errorf("recorded as %v", r14(c).Openings[1].Joint)
			}
		})
	}
}

// TestNewBoxesStandAsTheTableSays: by their places, or from the end that was chosen; a
// day that nobody knows is told as a guess.
func TestNewBoxesStandAsTheTableSays(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name   string
		places bool
		stack  string
		want   string // from the bottom up
	}{
		{"listed from below", false, BottomUp, "A1 A2"},
		{"listed from above", false, TopDown, "A2 A1"},
		{"with their places", true, "", "A2 A1"},
	} {
		rows := [][]string{{"Apiary", "Hive", "Box", "Place in the stack"}, {"Orchard", "Ash", "A1", "2"}, {"Orchard", "Ash", "A2", "1"}}
		if !tt.places {
			for i := range rows {
				rows[i] = rows[i][:3]
			}
		}
		c, choices := smallClub(), suggest(rows)
		choices.Stack, choices.Lowest, choices.Upper, choices.SetUp, choices.GuessedOn = tt.stack, "deep", "medium", someday-300, someday
		res := Read(rows, choices, c, 0, someday)
		if len(c.Apiaries[0].Hives) != 2 {
			t.Fatalf("%s: %s, asked %q", tt.name, sum(res), askedOf(res))
		}
		boxes := c.Apiaries[0].Hives[1].Boxes
		if got := boxes[0].Name + " " + boxes[1].Name; got != tt.want || boxes[0].Kind != "deep" || boxes[1].Kind != "medium" {
			t.Errorf("%s: %s, a %s below a %s; want %s", tt.name, got, boxes[0].Kind, boxes[1].Kind, tt.want)
		}
		if boxes[0].SetUpOn != someday-300 || boxes[0].GuessedOn != someday {
			t.Errorf("%s: set up on %s, guessed on %s", tt.name, boxes[0].SetUpOn, boxes[0].GuessedOn)
		}
	}
}

// TestOrderOfDaysIsAsked: nobody guesses whether 03/04 is in April.
func TestOrderOfDaysIsAsked(t *testing.T) {
	t.Parallel()
	rows := [][]string{{"Apiary", "Hive", "Box", "Date", "Difficulty"}, {"Orchard", "Larch", "R14", "06/07/2025", "2"}}
	for order, want := range map[Order]scheduler.Date{"": 0, DayFirst: scheduler.NewDate(2025, 7, 6), MonthFirst: scheduler.NewDate(2025, 6, 7)} {
		c, choices := smallClub(), suggest(rows)
		choices.Order = order
		res := Read(rows, choices, c, 0, someday)
		if open := res.Asked.Open(); open != (order == "") {
			t.Errorf("order %q: asks %t", order, open)
		}
		got := scheduler.Date(0)
		if all := c.Apiaries[0].Hives[0].Boxes[0].Openings; len(all) > 1 {
			got = all[1].On
		}
		if got != want {
			t.Errorf("order %q: recorded on %s, want %s", order, got, want)
		}
	}
}

// TestOrderOfDaysFollowsTheirColumn: days of a column that can be read in one way only
// and agree say how the others are meant, unless somebody says otherwise.
func TestOrderOfDaysFollowsTheirColumn(t *testing.T) {
	t.Parallel()
	july, june := scheduler.NewDate(2025, 7, 6), scheduler.NewDate(2025, 6, 7)
	for _, tt := range []struct {
		name, days, setUp  string // of further rows, and of a day of set-up
		order, said, asked Order
		want               scheduler.Date
		refused            int
	}{
		{"day first", "25/07/2025", "", "", "", "", july, 0},
		{"month first", "07/25/2025", "", "", "", "", june, 0},
		{"said otherwise", "25/07/2025", "", "", MonthFirst, "", june, 1},
		{"a day of words says nothing", "25 July 2025", "", "", "", "ask", 0, 0},
		{"they disagree", "25/07/2025;07/25/2025", "", "", "", "ask", 0, 0},
		{"another column says nothing", "", "25/07/2024", "", "", "ask", 0, 0},
		{"the answer is not for a clear column", "", "25/07/2024", MonthFirst, "", "", june, 0},
	} {
		rows := [][]string{{"Apiary", "Hive", "Box", "Date", "Difficulty", "Set up on"}, {"Orchard", "Ash", "A1", "06/07/2025", "2", tt.setUp}}
		for _, day := range strings.Split(tt.days, ";") {
			if day != "" {
				rows = append(rows, []string{"Orchard", "Ash", "A1", day, "2", ""})
			}
		}
		c, choices := smallClub(), suggest(rows)
		choices.Order, choices.ClearOrder, choices.Lowest, choices.Upper = tt.order, tt.said, "deep", "deep"
		res := Read(rows, choices, c, 0, someday)
		if open := len(res.Asked.Days) > 0 && res.Asked.Open(); open != (tt.asked != "") || len(res.Refused) != tt.refused {
			t.Errorf("%s: asks %q, refused %v", tt.name, askedOf(res), res.Refused)
		}
		if tt.want != 0 && (len(c.Apiaries[0].Hives) < 2 || c.Apiaries[0].Hives[1].Boxes[0].Openings[0].On != tt.want) {
			t.Errorf("%s: %s; want it on %s", tt.name, sum(res), tt.want)
		}
	}
}

// TestNamesThatFitTwiceFitNone, unless one is written just so.
func TestNamesThatFitTwiceFitNone(t *testing.T) {
	t.Parallel()
	hives := []scheduler.Hive{{ID: 1, Name: "Larch"}, {ID: 2, Name: "LARCH"}, {ID: 3, Name: "Fir"}}
	for name, want := range map[string]int64{"larch": 0, "Larch": 1, "LARCH": 2, "fir": 3, "elm": 0} {
		got := int64(0)
		if h := named(hives, name, func(h *scheduler.Hive) string { return h.Name }); h != nil {
			got = h.ID
		}
		if got != want {
			t.Errorf("%q is hive %d, want %d", name, got, want)
		}
	}
}

// TestARefusedRowLeavesNothing: what one of its boxes contradicts is not taken from the
// others of the row either, and no box is made for it.
func TestARefusedRowLeavesNothing(t *testing.T) {
	t.Parallel()
	rows := [][]string{{"Hive", "Date", "bottom", "top"}, {"Ash", "2025-05-01", "2", ""}, {"Ash", "2025-05-01", "3", "1"}}
	c, choices := smallClub(), suggest(rows)
	choices.Columns = []Field{Hive, Day, OfBox, OfBox}
	choices.Apiary, choices.Lowest, choices.Upper, choices.Stack = "Orchard", "deep", "medium", BottomUp
	res := Read(rows, choices, c, 0, someday)
	if len(res.Refused) != 1 || res.Refused[0].Why[0].Key != "sheet.why.other-row" || res.Boxes != 1 || res.Openings != 1 {
		t.Fatalf("%s; refused %v, asked %q", sum(res), res.Refused, askedOf(res))
	}
	if boxes := c.Apiaries[0].Hives[1].Boxes; len(boxes) != 1 || boxes[0].Name != "bottom" {
		t.Errorf("made %+v", boxes)
	}
}
