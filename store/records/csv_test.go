package records

import (
	"encoding/csv"
	"errors"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pryday/scheduler"
	_ "pryday/testdata/testrun" // the same zones and lots in every run
)

const exampleCSV = `apiary,hive,box,kind,opened_on,difficulty,scraped,note,opened_by
Orchard,Larch,R14,deep,2026-07-20,3,all,"stiff, ""very""",ODGER@example.net
Orchard,Larch,R15,,2026-07-20,0,,,Ines
Quarry,Oak,R15,long,2025-06-01,2,part,"two
lines",Old Tam
,,S1,shallow,2026-07-21,4,none,'=loose,
`

func TestParseOpenings(t *testing.T) {
	for _, tt := range []struct{ name, list string }{
		{"plain", exampleCSV},
		{"from a spreadsheet", "\ufeff" + strings.ReplaceAll(exampleCSV, "\n", "\r\n")},
		{"semicolons", strings.ReplaceAll(strings.ReplaceAll(exampleCSV, ",", ";"), "stiff; ", "stiff, ")},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := parse(t, example)
			added, err := ParseOpenings([]byte(tt.list), c, CSVOptions{})
			if err != nil || added != 4 {
				t.Fatalf("added %d, %v", added, err)
			}
			r14 := c.Apiaries[0].Hives[0].Boxes[0].Openings
			if o := r14[len(r14)-1]; o.Difficulty() != scheduler.Hard || o.Frames != scheduler.NotTried || o.Note != `stiff, "very"` || o.ID == "" {
				t.Errorf("R14: %+v", o)
			}
			r15 := c.Apiaries[0].Hives[0].Boxes[1].Openings
			if len(r15) != 3 || r15[2].Scraped != scheduler.ScrapedNone || r15[1].Note != "two\nlines" {
				t.Errorf("R15, also under its earlier hive: %+v", r15)
			}
			for name, got := range map[string]scheduler.Opener{"a member's address": r14[len(r14)-1].OpenedBy(), "a member's name": r15[2].OpenedBy(), "another name": r15[1].OpenedBy()} {
				want := map[string]scheduler.Opener{"a member's address": {Member: 2}, "a member's name": {Member: 1}, "another name": {Name: "Old Tam"}}[name]
				if got != want {
					t.Errorf("by %s: opened by %+v, want %+v", name, got, want)
				}
			}
			if s1 := c.Spare[1].Openings; len(s1) != 1 || s1[0].Note != "=loose" {
				t.Errorf("S1: %+v", s1)
			}
			before := parse(t, mustEncode(t, c))
			if added, err := ParseOpenings([]byte(tt.list), c, CSVOptions{}); err != nil || added != 0 {
				t.Errorf("a second reading added %d, %v", added, err)
			}
			if after := parse(t, mustEncode(t, c)); !reflect.DeepEqual(before, after) {
				t.Error("a second reading changed the club")
			}
		})
	}
}

func mustEncode(t *testing.T, c *scheduler.Club) string {
	t.Helper()
	doc, err := Encode(c)
	if err != nil {
		t.Fatal(err)
	}
	return string(doc)
}

func TestParseOpeningsMakesBoxes(t *testing.T) {
	const list = `opened_on,difficulty,apiary,hive,box,kind
2026-05-02,2,Quarry,Elm,1,deep
2026-05-02,1,Quarry,Elm,2,medium
2025-05-02,0,Quarry,Elm,1,
2026-05-02,1,Orchard,Larch,9,deep
`
	c := parse(t, example)
	added, err := ParseOpenings([]byte(list), c, CSVOptions{CreateBoxes: true})
	if err != nil || added != 4 {
		t.Fatalf("added %d, %v", added, err)
	}
	elm := c.Apiaries[1].Hives[1]
	if elm.Name != "Elm" || elm.ID != 3 || len(elm.Boxes) != 2 || elm.Boxes[0].SetUpOn != scheduler.NewDate(2025, 5, 2) || elm.Boxes[1].Kind != "medium" {
		t.Errorf("Elm: %+v", elm)
	}
	if larch := c.Apiaries[0].Hives[0].Boxes; len(larch) != 3 || larch[2].Name != "9" || larch[2].ID != 8 {
		t.Errorf("Larch: %+v", larch)
	}
	parse(t, mustEncode(t, c))
}

func TestOldListDoesNotUndoCorrections(t *testing.T) {
	c := parse(t, example)
	list := []byte("apiary,hive,box,opened_on,difficulty\nOrchard,Larch,R14,2026-07-20,3\n")
	if n, err := ParseOpenings(list, c, CSVOptions{}); n != 1 || err != nil {
		t.Fatal(n, err)
	}
	box := &c.Apiaries[0].Hives[0].Boxes[0]
	box.Openings = append(box.Openings, scheduler.Opening{
		ID: OpeningID("x", "", "", "", 1, 1), Supersedes: box.Openings[len(box.Openings)-1].ID,
		On: scheduler.NewDate(2026, 7, 21), Joint: 2, Scraped: scheduler.ScrapedNone,
	})
	if n, err := ParseOpenings(list, c, CSVOptions{}); n != 0 || err != nil {
		t.Errorf("the old list added %d, %v", n, err)
	}
}

func TestBrokenOpenings(t *testing.T) {
	for _, tt := range []struct {
		name     string
		old, new string
		opt      CSVOptions
		path     string
		line     int
		value    string
		allowed  string
	}{
		{"unknown column", `,note`, `,remarks`, CSVOptions{}, "", 1, `"remarks"`, "apiary, hive, box, kind, opened_on"},
		{"missing column", `difficulty,`, ``, CSVOptions{}, "difficulty", 1, "", "is missing in the first line"},
		{"column twice", `,note`, `,hive`, CSVOptions{}, "", 1, `"hive"`, "each column once"},
		{"fields", `Larch,R15,,`, `Larch,R15,`, CSVOptions{}, "", 3, "", "9 fields"},
		{"quotes", `"stiff, `, `stiff, "`, CSVOptions{}, "", 2, "", "is not CSV"},
		{"apiary", `Orchard,Larch,R15`, `Orchart,Larch,R15`, CSVOptions{CreateBoxes: true}, "apiary", 3, `"Orchart"`, "Orchard, Quarry"},
		{"hive", `Orchard,Larch,R15`, `Orchard,Lurch,R15`, CSVOptions{}, "hive", 3, `"Lurch"`, "Larch"},
		{"box", `Orchard,Larch,R15`, `Orchard,Larch,R51`, CSVOptions{}, "box", 3, `"R51"`, "R14, R15"},
		{"spare box", `,,S1`, `,,S9`, CSVOptions{}, "box", 6, `"S9"`, "stands on no hive"},
		{"new box without a kind", `Orchard,Larch,R15`, `Orchard,Larch,R51`, CSVOptions{CreateBoxes: true}, "kind", 3, `""`, "deep, medium, shallow, long"},
		{"kind", `R14,deep`, `R14,medium`, CSVOptions{}, "kind", 2, `"medium"`, "deep"},
		{"day", `2025-06-01`, `1/6/2025`, CSVOptions{}, "opened_on", 4, `"1/6/2025"`, "2027-05-31"},
		{"before set-up", `2025-06-01`, `2024-06-01`, CSVOptions{}, "opened_on", 4, `2024-06-01`, "a day from 2025-05-01 on"},
		{"difficulty", `2026-07-20,3`, `2026-07-20,5`, CSVOptions{}, "difficulty", 2, `"5"`, "0 loose, 1 light, 2 firm, 3 hard, 4 stuck"},
		{"difficulty left out", `2026-07-20,3`, `2026-07-20,`, CSVOptions{}, "difficulty", 2, `""`, "0 loose"},
		{"scraped", `3,all`, `3,yes`, CSVOptions{}, "scraped", 2, `"yes"`, "all, part, none"},
		{"control character", `'=loose`, "loo\x01se", CSVOptions{}, "note", 6, `"loo\x01se"`, "U+0001"},
		{"not UTF-8", `'=loose`, "lo\xe9se", CSVOptions{}, "", 6, "byte 0xe9", "saved as UTF-8"},
		{"opener", `Old Tam`, `tam@example.org`, CSVOptions{}, "opened_by", 5, `"tam@example.org"`, "the address of a member"},
		{"other opener", `Orchard,Larch,R15,,2026-07-20,0,,,Ines`, `Orchard,Larch,R14,deep,2026-04-20,2,all,...,Old Tam`, CSVOptions{}, "opened_on", 3, "2026-04-20", "with other answers"},
		{"other answers", `Orchard,Larch,R14,deep,2026-07-20`, `Orchard,Larch,R14,deep,2026-04-20`, CSVOptions{}, "opened_on", 2, "2026-04-20", "with other answers (difficulty 2, scraped all)"},
		{"nothing", exampleCSV, ``, CSVOptions{}, "", 1, "", "a first line apiary,hive"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			broken := strings.Replace(exampleCSV, tt.old, tt.new, 1)
			if broken == exampleCSV {
				t.Fatal("the example does not hold what is to be broken")
			}
			c := parse(t, example)
			added, err := ParseOpenings([]byte(broken), c, tt.opt)
			var ps Problems
			if added != 0 || !errors.As(err, &ps) {
				t.Fatalf("added %d, %v", added, err)
			}
			saidInGerman(t, ps)
			p := ps[0]
			if len(ps) != 1 || p.Path != tt.path || p.Line != tt.line || !strings.Contains(p.Value, tt.value) || !strings.Contains(p.String(), tt.allowed) {
				t.Errorf("got %v\nwant %s on line %d with %s; allowed: %s", err, tt.path, tt.line, tt.value, tt.allowed)
			}
			if !reflect.DeepEqual(c, parse(t, example)) {
				t.Error("the refused list changed the club")
			}
		})
	}
}

func TestOpeningsListComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawClub(t)
		names := map[string]bool{}
		for i := range c.Spare {
			if names[c.Spare[i].Name] {
				t.Skip("a list cannot tell two spare boxes of one name apart")
			}
			names[c.Spare[i].Name] = true
		}
		list := EncodeOpenings(c)
		if added, err := ParseOpenings(list, c, CSVOptions{}); added != 0 || err != nil {
			t.Fatalf("the club's own list added %d, %v\n%s", added, err, list)
		}
		empty := *c
		empty.Spare, empty.Visits, empty.Apiaries = nil, nil, nil
		want := 0
		for _, a := range c.Apiaries {
			for _, h := range a.Hives {
				for _, b := range h.Boxes {
					want += len(scheduler.Effective(b.Openings))
				}
			}
			a.Hives = nil
			empty.Apiaries = append(empty.Apiaries, a)
		}
		onHives := onlyOnHives(t, list)
		added, err := ParseOpenings(onHives, &empty, CSVOptions{CreateBoxes: true})
		if err != nil || added != want {
			t.Fatalf("an empty club took %d of %d, %v\n%s", added, want, err, onHives)
		}
		if again := EncodeOpenings(&empty); len(again) != len(onHives) {
			t.Fatalf("the list of the new club differs:\n%s\n%s", again, onHives)
		}
	})
}

// onlyOnHives drops the rows of boxes that stand on no hive.
func onlyOnHives(t *rapid.T, list []byte) []byte {
	rows, err := csv.NewReader(strings.NewReader(string(list))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	w := csv.NewWriter(&b)
	for _, row := range rows {
		if row[0] != "" {
			if err := w.Write(row); err != nil {
				t.Fatal(err)
			}
		}
	}
	w.Flush()
	return []byte(b.String())
}
