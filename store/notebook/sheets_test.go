package notebook

import (
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store/sheet"
)

// place is an answer to where a new apiary lies.
func place() Place {
	return Place{Fresh: &scheduler.Apiary{Latitude: 48.2, Longitude: 11.5, ElevationM: 500, Timezone: "Europe/Berlin"}}
}

func smallClub() *scheduler.Club {
	return &scheduler.Club{
		Name: "Hollow Lane Bees", Rules: scheduler.DefaultRules(),
		Members: []scheduler.Member{{ID: 1, Name: "Walter Gorse", Email: "walter@example.org", Role: scheduler.Organiser}},
		Apiaries: []scheduler.Apiary{{ID: 1, Name: "Orchard", Latitude: 51, Longitude: 9, Timezone: "Europe/Berlin", Hives: []scheduler.Hive{{
			ID: 1, Name: "Larch", Boxes: []scheduler.Box{{ID: 1, Name: "R14", Kind: "deep", SetUpOn: scheduler.NewDate(2024, 5, 1), Openings: []scheduler.Opening{{
				ID: "0b8b7c1e-1111-4111-8111-000000000001", On: scheduler.NewDate(2025, 4, 5), Joint: scheduler.Hard, Frames: scheduler.NotTried, Scraped: scheduler.ScrapedNone,
				Gaps: []scheduler.Gap{{At: scheduler.AboveFrames, Peg: scheduler.ThinGoes}}, Opener: &scheduler.Opener{Name: "old Tam"},
			}}}},
		}}}},
	}
}

// Five spreadsheets as keepers keep them: what each is asked, and what it comes to.
func TestUglySheets(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		file    string
		columns []Field // by hand, where the names do not say it
		asked   string
		answer  func(*Choices)
		want    string
		refused map[int]string // by row, the key of why
	}{
		{
			file:  "windows.csv",
			asked: "degrees 2,5; kinds Halbzarge; apiaries Obstgarten, Mühle; stack Lärche, Föhre",
			answer: func(c *Choices) {
				c.Degrees = map[string]string{"2 5": "3"}
				c.Kinds = map[string]string{"halbzarge": "shallow"}
				c.Apiaries = map[string]Place{"obstgarten": place(), "mühle": place()}
				c.Stack = BottomUp
			},
			want:    "8 rows: 6 openings, 4 boxes, 2 hives, 2 apiaries; known 0, repeated 0, 2025-04-03 to 2025-06-28",
			refused: map[int]string{9: "sheet.why.not-a-day", 12: "form.to-come"},
		},
		{
			file:    "workbook.xlsx",
			asked:   "unscraped 3; no kind 7, 8, 9; set up 1",
			answer:  func(c *Choices) { c.Lowest, c.Upper, c.SetUp = "deep", "medium", scheduler.NewDate(2024, 4, 1) },
			want:    "4 rows: 3 openings, 3 boxes, 1 hives, 0 apiaries; known 0, repeated 0, 2025-04-03 to 2025-06-01",
			refused: map[int]string{},
		},
		{
			file:    "tables.ods",
			asked:   "unscraped 4; no kind 001, 002; stack Elm",
			answer:  func(c *Choices) { c.Lowest, c.Upper, c.Stack = "deep", "deep", TopDown },
			want:    "5 rows: 4 openings, 2 boxes, 1 hives, 0 apiaries; known 0, repeated 1, 2025-04-03 to 2025-07-09",
			refused: map[int]string{},
		},
		{
			file:  "pasted.tsv",
			asked: "days 03/04/2025; above 3; unscraped 4; no kind R15, S1, S2; stack Spruce; units 8.5",
			answer: func(c *Choices) {
				c.Order, c.Above, c.Units, c.Lowest, c.Upper, c.Stack = DayFirst, Fill, text.Millimetres, "deep", "medium", BottomUp
			},
			want:    "5 rows: 3 openings, 2 boxes, 1 hives, 0 apiaries; known 1, repeated 0, 2025-04-03 to 2025-04-25",
			refused: map[int]string{5: "sheet.why.other-order"},
		},
		{
			file:    "boxes.csv",
			columns: []Field{Hive, Day, OfBox, OfBox, OfBox, Note},
			asked:   "above 1; degrees murder; unscraped 7; no apiary 7; unmarked 1; no kind bottom, middle, top",
			answer: func(c *Choices) {
				c.Degrees = map[string]string{"murder": "4"}
				c.Above, c.Unmarked, c.Apiary, c.Lowest, c.Upper, c.Stack = Leave, Refuse, "Orchard", "deep", "shallow", BottomUp
			},
			want:    "8 rows: 6 openings, 4 boxes, 2 hives, 0 apiaries; known 0, repeated 1, 2025-05-01 to 2025-06-01",
			refused: map[int]string{6: "sheet.why.other-row", 7: "sheet.why.no-hive", 8: "sheet.why.not-a-day", 9: "sheet.why.no-mark"},
		},
	} {
		t.Run(tt.file, func(t *testing.T) {
			data, err := os.ReadFile("testdata/" + tt.file)
			if err != nil {
				t.Fatal(err)
			}
			book, err := sheet.Read(data)
			if err != nil {
				t.Fatal(err)
			}
			rows, club := book.Sheets[0].Rows, smallClub()
			choices := Suggest(rows, someday)
			if tt.columns != nil {
				choices.Columns = tt.columns
			}
			if got := askedOf(Look(rows, choices, club, someday)); got != tt.asked {
				t.Errorf("asks %q, want %q; columns %v", got, tt.asked, choices.Columns)
			}
			tt.answer(choices)
			choices.Scraped = string(scheduler.ScrapedPart)
			res := Read(rows, choices, club, 1, someday)
			if res.Asked.Open() {
				t.Fatalf("still asks %q", askedOf(res))
			}
			if got := sum(res); got != tt.want {
				t.Errorf("comes to %q, want %q", got, tt.want)
			}
			for _, r := range res.Refused {
				if r.Why[0].Key != tt.refused[r.Row] {
					t.Errorf("row %d is refused: %s, want %q", r.Row, (&text.Speaker{}).Tell(r.Why[0]), tt.refused[r.Row])
				}
				delete(tt.refused, r.Row)
			}
			if len(tt.refused) > 0 {
				t.Errorf("not refused: %v", tt.refused)
			}
			if again := Look(rows, choices, club, someday); again.Openings+again.Boxes+again.Hives > 0 || again.Asked.Open() {
				t.Errorf("a second time it comes to %q", sum(again))
			}
		})
	}
}

// suggest are the choices that a table makes by itself, and that nothing was scraped
// where it does not say so.
func suggest(rows [][]string) *Choices {
	c := Suggest(rows, someday)
	c.Scraped = string(scheduler.ScrapedNone)
	return c
}

func askedOf(res *Result) string {
	var out []string
	add := func(name string, words []string) {
		if len(words) > 0 {
			out = append(out, name+" "+strings.Join(words, ", "))
		}
	}
	count := func(name string, n int) {
		if n > 0 {
			out = append(out, fmt.Sprint(name, " ", n))
		}
	}
	shown := func(words []Word) (out []string) {
		for _, w := range words {
			out = append(out, w.Shown)
		}
		return out
	}
	a := res.Asked
	for _, f := range a.Missing {
		out = append(out, "missing "+string(f))
	}
	add("days", a.Days)
	count("above", a.Above)
	add("degrees", shown(a.Degrees))
	add("scrapings", shown(a.Scrapings))
	count("unscraped", a.Unscraped)
	add("kinds", shown(a.Kinds))
	add("apiaries", shown(a.Apiaries))
	count("no apiary", a.NoApiary)
	count("unmarked", a.Unmarked)
	add("no kind", a.NoKind)
	add("stack", a.Stack)
	add("units", a.Units)
	count("set up", a.NoSetUp)
	return strings.Join(out, "; ")
}

func sum(r *Result) string {
	return fmt.Sprintf("%d rows: %d openings, %d boxes, %d hives, %d apiaries; known %d, repeated %d, %s to %s",
		r.Rows, r.Openings, r.Boxes, r.Hives, len(r.Apiaries), r.Known, r.Repeated, r.First, r.Last)
}

// What is in the cells reaches the openings.
func TestCellsReachTheRecords(t *testing.T) {
	t.Parallel()
	rows := [][]string{
		{"Apiary", "Hive", "Box", "Kind", "Date", "Joint", "Worst frame", "Left shut", "Scraped", "Gap above", "Gaps", "Condition", "Remarks", "By whom"},
		{"orchard", "LARCH", "New", "medium", "2025-04-03", "firm", "3", "", "part", "8.5 mm; 5/16", "entrance thick-goes", "warped; wobbly", "'=x", "Walter Gorse"},
		{"Orchard", "Larch", "New", "", "2025-06-03", "", "", "yes", "", "", "", "", "", "the neighbour"},
	}
	c := smallClub()
	res := Read(rows, suggest(rows), c, 0, someday)
	boxes := c.Apiaries[0].Hives[0].Boxes
	if len(res.Refused) > 0 || len(boxes) != 2 || len(boxes[1].Openings) != 2 {
		t.Fatalf("%s; refused %v, asked %s", sum(res), res.Refused, askedOf(res))
	}
	first, second := boxes[1].Openings[0], boxes[1].Openings[1]
	if boxes[1].Kind != "medium" || boxes[1].SetUpOn != first.On {
		t.Errorf("the box: %+v", boxes[1])
	}
	want := scheduler.Opening{
		ID: first.ID, On: scheduler.NewDate(2025, 4, 3), Joint: scheduler.Firm, Frames: scheduler.Hard, Scraped: scheduler.ScrapedPart,
		Condition: []scheduler.Condition{scheduler.Warped}, Note: "=x\nwobbly", Opener: &scheduler.Opener{Member: 1},
		Gaps: []scheduler.Gap{{At: scheduler.AboveFrames, MM: 8.5}, {At: scheduler.AboveFrames, MM: 7.9375}, {At: scheduler.Entrance, Peg: scheduler.ThickGoes}},
	}
	if !first.SameAnswers(&want) || !first.SameOpener(&want) {
		t.Errorf("recorded %+v, want %+v", first, want)
	}
	if !second.LeftShut || second.Joint != scheduler.Stuck || second.Opener.Name != "the neighbour" {
		t.Errorf("left shut: %+v", second)
	}
}

// What was scraped is asked once where the table does not say it, and nobody is made to
// have said it. What is there already asks nothing.
func TestWhatTheTableDoesNotSayOfScraping(t *testing.T) {
	t.Parallel()
	rows := [][]string{
		{"Apiary", "Hive", "Box", "Kind", "Date", "How hard", "Scraped"},
		{"Orchard", "Larch", "New", "medium", "2025-04-03", "firm", ""},
		{"Orchard", "Larch", "New", "", "2025-05-03", "firm", "all"},
		{"Orchard", "Larch", "New", "", "2025-06-03", "", ""},
		{"Orchard", "Larch", "New", "", "2025-07-03", "left shut", ""},
		{"Orchard", "Larch", "New", "", "2025-08-03", "firm", "hm"},
		{"Orchard", "Larch", "R14", "", "2025-04-05", "hard", ""},
	}
	for answer, want := range map[string][]scheduler.Scraped{
		"part": {"part", "all", "part", "none", "part"}, "none": {"none", "all", "none", "none", "none"}, Unsaid: {"", "all", "", "none", ""},
	} {
		choices, c := Suggest(rows, someday), smallClub()
		choices.Scrapings = map[string]string{"hm": Unsaid}
		if got := askedOf(Look(rows, choices, c, someday)); got != "scrapings hm; unscraped 3" {
			t.Errorf("asks %q", got)
		}
		choices.Scraped = answer
		res := Read(rows, choices, c, 1, someday)
		var got []scheduler.Scraped
		for _, b := range c.Apiaries[0].Hives[0].Boxes[1:] {
			for _, o := range b.Openings {
				got = append(got, o.Scraped)
			}
		}
		if !slices.Equal(got, want) || res.Asked.Open() {
			t.Errorf("%s: scraped %q, want %q; asks %q", answer, got, want, askedOf(res))
		}
		if again := Look(rows, Suggest(rows, someday), c, someday); again.Openings > 0 || again.Asked.Unscraped > 0 || again.Known != 6 {
			t.Errorf("%s, a second time: %s, asks %q", answer, sum(again), askedOf(again))
		}
	}
}

// Openings of a table without a column for how hard they were are counted
// apart: whoever forgot that column sees it before it is too late.
func TestOpeningsWithoutAWordAreCounted(t *testing.T) {
	t.Parallel()
	rows := [][]string{
		{"Apiary", "Hive", "Box", "Kind", "Date", "Joint", "Left shut"},
		{"Orchard", "Larch", "New", "medium", "2025-04-03", "", ""},
		{"Orchard", "Larch", "New", "", "2025-06-03", "firm", ""},
		{"Orchard", "Larch", "New", "", "2025-07-03", "", "yes"},
	}
	choices := suggest(rows)
	if res := Look(rows, choices, smallClub(), someday); res.Openings != 3 || res.Ungraded != 1 {
		t.Errorf("%s; %d without a word, want 1", sum(res), res.Ungraded)
	}
	choices.Columns[5] = ""
	if res := Look(rows, choices, smallClub(), someday); res.Openings != 3 || res.Ungraded != 2 {
		t.Errorf("%s; %d without a word once the column is left out, want 2", sum(res), res.Ungraded)
	}
}

// Boxes without a mark are counted, with what they are called.
func TestBoxesWithoutAMarkAreCounted(t *testing.T) {
	t.Parallel()
	rows := [][]string{
		{"Apiary", "Hive", "Box (1 = bottom)", "Mark", "Kind", "Date", "How hard"},
		{"Orchard", "7", "1", "R1", "deep", "2025-04-03", "firm"},
		{"Orchard", "7", "2", "", "deep", "2025-04-03", "firm"},
		{"Orchard", "7", "2", "", "deep", "2025-05-03", "firm"},
		{"Orchard", "8", "1", "", "deep", "2025-04-03", "firm"},
	}
	choices, c := suggest(rows), smallClub()
	if res := Read(rows, choices, c, 1, someday); res.Boxes != 3 || res.Unmarked != 2 || !slices.Equal(res.NamedAs, []string{"7-2", "8-1"}) {
		t.Errorf("%s; %d without a mark, called %v, asks %q", sum(res), res.Unmarked, res.NamedAs, askedOf(res))
	}
	if res := Look(rows, choices, c, someday); res.Unmarked != 0 || res.Known != 4 {
		t.Errorf("a second time %s; %d without a mark", sum(res), res.Unmarked)
	}
}

// New boxes that begin with their first opening are counted, and it is a guess that they
// were set up then.
func TestBoxesThatBeginWithAnOpeningAreCounted(t *testing.T) {
	t.Parallel()
	rows := [][]string{
		{"Apiary", "Hive", "Box (1 = bottom)", "Mark", "Kind", "Set up", "Date", "How hard"},
		{"Orchard", "7", "1", "N1", "deep", "2024-04-03", "2025-04-03", "firm"},
		{"Orchard", "7", "2", "N2", "deep", "", "2025-04-03", "stuck"},
		{"Orchard", "7", "2", "N2", "deep", "", "2025-06-03", "firm"},
		{"Orchard", "7", "3", "N3", "deep", "2025-04-03", "", ""},
	}
	choices, c := suggest(rows), smallClub()
	if res := Read(rows, choices, c, 1, someday); res.Boxes != 3 || res.Begun != 1 {
		t.Errorf("%s; %d begin with an opening, asks %q", sum(res), res.Begun, askedOf(res))
	}
	for _, b := range c.Apiaries[0].Hives[len(c.Apiaries[0].Hives)-1].Boxes {
		want := map[string]scheduler.Date{"N2": someday}[b.Name]
		if b.GuessedOn != want {
			t.Errorf("%s, set up on %s, was guessed on %s, want %s", b.Name, b.SetUpOn, b.GuessedOn, want)
		}
	}
	earlier := [][]string{rows[0], {"Orchard", "7", "2", "N2", "deep", "", "2023-05-03", "light"}, {"Orchard", "7", "1", "N1", "deep", "", "2023-05-03", "light"}}
	choices2 := suggest(earlier)
	if res := Read(earlier, choices2, c, 1, someday); res.Openings != 1 || len(res.Refused) != 1 {
		t.Errorf("the book of an earlier year: %s, asks %q", sum(res), askedOf(res))
	}
	if n2 := c.Apiaries[0].Hives[len(c.Apiaries[0].Hives)-1].Box(3); n2.SetUpOn != scheduler.NewDate(2023, 5, 3) || len(n2.Openings) != 3 {
		t.Errorf("with it %s is set up on %s and has %d openings", n2.Name, n2.SetUpOn, len(n2.Openings))
	}
	if res := Look(rows, choices, c, someday); res.Begun != 0 {
		t.Errorf("a second time %s; %d begin with an opening, asks %q", sum(res), res.Begun, askedOf(res))
	}
}

// Rows that count the others, and remarks on the whole table, are refused and ask
// nothing.
func TestRowsThatAreNoRecords(t *testing.T) {
	t.Parallel()
	rows := [][]string{
		{"Apiary", "Hive", "Box", "Kind", "Date", "How hard", "Remarks"},
		{"Orchard", "Larch", "New", "medium", "2025-04-03", "firm", ""},
		{"Orchard", "Total", "Old", "medium", "2025-04-03", "firm", "a hive of that name"},
		{"Total", "2", "", "", "", "2 rows", ""},
		{"Summe Zargen:", "", "", "", "", "", ""},
		{"", "", "", "", "", "", "written by Walter"},
	}
	res := Look(rows, suggest(rows), smallClub(), someday)
	if got := askedOf(res); got != "unscraped 2" || res.Openings != 2 {
		t.Errorf("%s; asks %q", sum(res), got)
	}
	why := map[int]string{}
	for _, r := range res.Refused {
		why[r.Row] = r.Why[0].Key
	}
	if want := map[int]string{4: "sheet.why.total", 5: "sheet.why.total", 6: "sheet.why.no-box"}; !maps.Equal(why, want) {
		t.Errorf("refused %v, want %v", why, want)
	}
}

// Days are read in every form that people write, and never guessed.
func TestDays(t *testing.T) {
	t.Parallel()
	third, fourth := scheduler.NewDate(2025, 4, 3), scheduler.NewDate(2025, 3, 4)
	for s, want := range map[string]reading{
		"2025-04-03": {day: third}, "2025/4/3": {day: third}, "3.4.2025": {day: third}, "03.04.25": {day: third}, "3. April 2025": {day: third},
		"3 Apr 2025": {day: third}, "April 3, 2025": {day: third}, "3rd April 2025": {day: third}, "3-Apr-25": {day: third}, "2025-04-03 00:00:00": {day: third},
		"Do., 3.4.2025": {day: third}, "Thursday 3 April 2025": {day: third}, "3. 4. 2025": {day: third}, "4. März 2025": {day: fourth}, "4 Mär 2025": {day: fourth},
		"03/04/2025": {day: third, other: fourth}, "3-4-25": {day: third, other: fourth}, "4/4/2025": {day: scheduler.NewDate(2025, 4, 4)},
		"25/04/2025": {day: scheduler.NewDate(2025, 4, 25), order: DayFirst}, "04/25/2025": {day: scheduler.NewDate(2025, 4, 25), order: MonthFirst},
		"1.1.99": {day: scheduler.NewDate(1999, 1, 1)}, "1.1.28": {day: scheduler.NewDate(1928, 1, 1)},
	} {
		if got, ok := dayOf(s, someday); !ok || got != want {
			t.Errorf("%q is read as %+v, %t; want %+v", s, got, ok, want)
		}
	}
	for _, s := range []string{"", "45750", "31.4.2025", "13/13/2025", "0/0/2025", "spring", "2025", "3 Foo 2025", "4.25.2025", "1.1.1700", "3 Ma 2025"} {
		if got, ok := dayOf(s, someday); ok {
			t.Errorf("%q is taken for %s", s, got.day)
		}
	}
}

// Beside a column of frames, the one that says how hard it was is the joint's.
func TestWhatStandsBesideTheFrames(t *testing.T) {
	for headings, want := range map[string][]Field{
		"Date,Box,How was it?,Frames":       {Day, Box, Joint, Frames},
		"Date,Box,Frames,How was it?":       {Day, Box, Frames, Joint},
		"Date,Box,How was it?,Joint,Frames": {Day, Box, HowHard, Joint, Frames},
		"Date,Box,How was it?":              {Day, Box, HowHard},
	} {
		if got := Match(strings.Split(headings, ","), scheduler.NewDate(2027, 5, 1)); !slices.Equal(got, want) {
			t.Errorf("%s: %q, want %q", headings, got, want)
		}
	}
}

func TestDegreeWords(t *testing.T) {
	t.Parallel()
	for s, want := range map[string]degree{
		"2": {hard: 2}, "2,0": {hard: 2}, "2.00": {hard: 2}, "Firm": {hard: 2}, "fest": {hard: 2}, "2 (fest)": {hard: 2}, "festgekittet": {hard: 4}, "": {hard: -1}, "-": {hard: -1},
		"locker": {hard: 0}, "easily": {hard: 1}, "schwergängig": {hard: 3}, "Locked": {hard: 4},
		"left shut": {hard: 4, shut: true}, "zu gelassen": {hard: 4, shut: true}, "came up by hand": {hard: 0},
	} {
		if got, ok := degreeOf(s); !ok || got != want {
			t.Errorf("%q is %+v, %t; want %+v", s, got, ok, want)
		}
	}
	for _, s := range []string{"2,5", "sehr fest", "5", "-1", "firmish", "3 (fest)", "0 what", "1e0"} {
		if got, ok := degreeOf(s); ok {
			t.Errorf("%q is taken for %+v", s, got)
		}
	}
}

func TestHeadingsAreFound(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		rows [][]string
		at   Heading
		want []Field
	}{
		"below a title":  {[][]string{{"My bees"}, nil, {"Hive", "Box", "Date", "Difficulty"}, {"1", "a", "2025-01-01", "2"}}, Heading{3, 1}, []Field{Hive, Box, Day, HowHard}},
		"in two rows":    {[][]string{{"Hive", "Gaps", "", "Date"}, {"", "above", "below", ""}, {"1", "8", "9", "2025-01-01"}}, Heading{1, 2}, []Field{Hive, "gap-above-frames", "gap-below-frames", Day}},
		"days":           {[][]string{{"Box", "3.4.2025", "1.6.2025", "what?"}, {"a", "2", "3"}}, Heading{1, 1}, []Field{Box, OnDay, OnDay, ""}},
		"the same twice": {[][]string{{"Datum", "Tag", "Volk"}, {"1.1.2025", "", "7"}}, Heading{1, 1}, []Field{Day, "", Hive}},
		"by its words":   {[][]string{{"Hive", "Date", "Lifting", "Seen"}, {"1", "2025-01-01", "firm", "hard work"}, {"2", "2025-01-01", "loose", "x"}, {"3", "2025-01-02", "2", "x"}, {"4", "2025-01-02", "stuck", "x"}}, Heading{1, 1}, []Field{Hive, Day, HowHard, ""}},
		"by its days":    {[][]string{{"Hive", "Box", "Once more", "How hard"}, {"1", "a", "2025-01-01", "2"}, {"1", "b", "2025-01-02", "1"}, {"2", "a", "2025-01-02", "1"}}, Heading{1, 1}, []Field{Hive, Box, Day, HowHard}},
		"too few words":  {[][]string{{"Hive", "Date", "Lifting"}, {"1", "2025-01-01", "firm"}, {"2", "2025-01-01", "three frames"}, {"3", "2025-01-01", "two frames"}}, Heading{1, 1}, []Field{Hive, Day, ""}},
		"digits alone":   {[][]string{{"Hive", "Date", "Frames of brood"}, {"1", "2025-01-01", "2"}, {"2", "2025-01-01", "3"}, {"3", "2025-01-01", "4"}}, Heading{1, 1}, []Field{Hive, Day, ""}},
		"of a box book": {
			[][]string{{"Yard", "Hive #", "Box # (1=bottom)", "Painted no.", "What", "Date opened", "How was it?", "Scraped?", "Gap over frames"}, {"Hill", "1", "1", "R1", "deep", "2025-01-01", "fine", "yes", "5/16"}, {"Hill", "1", "2", "R2", "deep", "2025-01-01", "fine", "no", ""}, {"Hill", "1", "3", "", "medium", "2025-01-01", "ok", "no", ""}},
			Heading{1, 1},
			[]Field{Apiary, Hive, Position, Box, Kind, Day, HowHard, Scraped, "gap-above-frames"},
		},
		"numbers and marks":          {[][]string{{"Stand", "Volk", "Zarge", "Zeichen", "Datum"}, {"Hang", "1", "1", "R11", "1.5.2025"}, {"Hang", "1", "2", "R12", "1.5.2025"}, {"Hang", "2", "1", "R21", "1.5.2025"}}, Heading{1, 1}, []Field{Apiary, Hive, Position, Box, Day}},
		"marks and numbers":          {[][]string{{"Volk", "Zeichen", "Zarge", "Datum"}, {"1", "R11", "1", "1.5.2025"}, {"1", "R12", "2", "1.5.2025"}, {"2", "R21", "1", "1.5.2025"}}, Heading{1, 1}, []Field{Hive, Box, Position, Day}},
		"how many boxes":             {[][]string{{"Volk", "Zargen", "Zeichen", "Datum"}, {"1", "2", "R11", "1.5.2025"}, {"1", "2", "R12", "1.5.2025"}, {"2", "1", "R21", "1.5.2025"}}, Heading{1, 1}, []Field{Hive, "", Box, Day}},
		"two kinds of marks":         {[][]string{{"Volk", "Zeichen", "Zarge", "Datum"}, {"1", "11", "R1", "1.5.2025"}, {"1", "12", "R2", "1.5.2025"}, {"2", "21", "R3", "1.5.2025"}}, Heading{1, 1}, []Field{Hive, Box, "", Day}},
		"from the top":               {[][]string{{"Hive", "Box (1 = top)", "Date"}, {"1", "1", "2025-01-01"}}, Heading{1, 1}, []Field{Hive, Box, Day}},
		"gaps without a place known": {[][]string{{"Hive", "Date", "Gap beside the frames"}, {"1", "2025-01-01", "9 mm"}}, Heading{1, 1}, []Field{Hive, Day, ""}},
		"none":                       {[][]string{{"1", "2"}, {"3", "4"}}, Heading{}, []Field{"", ""}},
	} {
		t.Run(name, func(t *testing.T) {
			got := Suggest(tt.rows, someday)
			if got.Heading != tt.at || !slices.Equal(got.Columns, tt.want) {
				t.Errorf("at %v %v, want %v %v", got.Heading, got.Columns, tt.at, tt.want)
			}
		})
	}
}

// An apiary that the table writes in two ways is one, called as the other rows write it,
// whichever comes first.
func TestAnApiaryWrittenInTwoWaysIsOne(t *testing.T) {
	t.Parallel()
	rows := [][]string{
		{"Apiary", "Hive", "Mark", "Kind", "Date", "How hard"},
		{"Far Orchrd", "7", "N1", "deep", "2025-04-03", "firm"},
		{"Far Orchard", "7", "N1", "deep", "2025-05-03", "light"},
		{"Far Orchard", "8", "N2", "deep", "2025-05-03", "light"},
		{"Fär Orchard", "8", "N2", "deep", "2025-06-03", "light"},
	}
	choices := suggest(rows)
	choices.Apiaries = map[string]Place{"far orchrd": {Like: "far orchard"}, "fär orchard": {Like: "far orchard"}, "far orchard": place()}
	c := smallClub()
	before := len(c.Apiaries)
	res := Read(rows, choices, c, 1, someday)
	if !slices.Equal(res.Apiaries, []string{"Far Orchard"}) || res.Hives != 2 || res.Boxes != 2 || res.Openings != 4 || len(c.Apiaries) != before+1 {
		t.Fatalf("%s at %q; refused %v", sum(res), res.Apiaries, res.Refused)
	}
	if got := c.Apiaries[before].Name; got != "Far Orchard" {
		t.Errorf("it is called %q", got)
	}
	if res := Look(rows, choices, c, someday); res.Known != 4 || len(res.Refused) > 0 {
		t.Errorf("a second time %s", sum(res))
	}
	choices.Apiaries = map[string]Place{"far orchrd": {Like: "fär orchard"}, "fär orchard": {Like: "far orchrd"}, "far orchard": place()}
	if res := Look(rows, choices, smallClub(), someday); !res.Asked.Open() {
		t.Errorf("two that are each the other: %s", sum(res))
	}
}
