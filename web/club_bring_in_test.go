package web

import (
	"bytes"
	"html"
	"net/url"
	"os"
	"path"
	"regexp"
	"strings"
	"testing"

	"pryday/scheduler"
)

const ownTable = "Stand\tVolk\tZarge\tDatum\tWie fest\tAbstand oben\tWer\n" +
	"Orchard\tOrchard hive 1\tO11\t03/04/2027\tbombenfest\t8.5\tder alte Tam\n" +
	"Moor\tEsche\tE1\t20.4.2027\t2,0\t\tAnsel Quillfeather\n" +
	"Moor\tEsche\tE2\t20.4.2027\tleicht\t\t\n" +
	"Moor\tEsche\tE1\t20.4.2027\t2\t\t\n" +
	"Moor\tEsche\tE2\tneulich\t3\t\tder alte Tam\n"

// paste brings cells in and returns the address of the spreadsheet.
func (b *browser) paste(cells string) string {
	b.c.t.Helper()
	got := b.post("/bring-in", fields("pasted", cells))
	if got.status != 303 {
		b.c.t.Fatalf("pasting: %d %s", got.status, got.text())
	}
	return path.Dir(got.header.Get("Location"))
}

var ownColumns = []string{
	"head", "1", "column-0", "apiary", "column-1", "hive", "column-2", "box", "column-3", "day", "column-4", "how-hard",
	"column-5", "gap-above-frames", "column-6", "opener",
}

func TestASpreadsheetComesInStepByStep(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	before := ansel.get("/records/file").body

	ansel.post("/bring-in", fields("pasted", "")).says(422, "Choose a file or paste some cells first")
	ansel.upload("/bring-in", "a.pdf", "%PDF-1.7", "pasted", "typed <b>").says(422, "This is no spreadsheet", "typed &lt;b&gt;")
	at := ansel.paste(ownTable)
	ansel.get(at+"/columns").says(200, "5 rows were read from the pasted cells", "Wie fest", "bombenfest")
	ansel.post(at+"/columns", fields("head", "1", "column-0", "apiary", "column-3", "day", "column-4", "day")).says(422,
		"Another column is chosen as Day opened already", "No column is chosen as Hive yet")
	if got := ansel.post(at+"/columns", fields(ownColumns...)); got.header.Get("Location") != at+"/questions" {
		t.Fatalf("after the columns: %d %s", got.status, got.header.Get("Location"))
	}

	// A step cannot be left out.
	if got := ansel.get(at + "/check"); got.header.Get("Location") != at+"/questions" {
		t.Errorf("the check before the questions: %d %s", got.status, got.text())
	}
	ansel.get(at+"/questions").says(200, "03/04/2027", "3 April 2027", "4 March 2027", "bombenfest", "Moor", "The boxes of one hive", "of which kind")
	answers := []string{
		"order", "day-first", "degree:bombenfest", "4", "scraped", "part", "units", "mm", "lowest", "deep", "upper", "medium", "stack", "bottom-up",
		"place:moor", "*new", "latitude:moor", "north", "longitude:moor", "-79,9", "elevation_m:moor", "300", "timezone:moor", "America/Toronto",
	}
	again := ansel.post(at+"/questions", fields(answers...))
	again.says(422, "Some answers are missing or cannot be right", "north")
	if !strings.Contains(again.body, `value="America/Toronto"`) || !strings.Contains(again.body, `value="4" selected`) {
		t.Error("what was answered is lost")
	}
	answers[len(answers)-7] = "44.1"
	if got := ansel.post(at+"/questions", fields(answers...)); got.header.Get("Location") != at+"/check" {
		t.Fatalf("after the questions: %d %s", got.status, got.text())
	}

	check := ansel.get(at + "/check")
	check.says(200, "1 apiary", "1 hive", "2 boxes", "3 openings", "said twice in the table", "1 row is refused", "Row 6", "neulich")
	list := ansel.get(at + "/refused.csv").body
	if !strings.HasPrefix(list, "\ufeffRow,Why it was refused,Stand,Volk") || !strings.Contains(list, "\n6,") || !strings.Contains(list, "neulich") {
		t.Errorf("the refused rows: %q", list)
	}
	_, rest, _ := strings.Cut(check.body, `name="expects" value="`)
	expects, _, _ := strings.Cut(rest, `"`)
	ansel.post(at+"/check", fields("expects", expects)).says(422, "Say below that the refused rows are left out")
	ansel.post(at+"/check", fields("expects", "9-9-9-9", "leave", "yes")).says(422, "The records have changed")
	if after := ansel.get("/records/file").body; after != before {
		t.Fatal("the records changed before anything was brought in")
	}
	if got := ansel.post(at+"/check", fields("expects", expects, "leave", "yes")); got.status != 303 {
		t.Fatalf("bringing it in: %d %s", got.status, got.text())
	}
	ansel.get(at+"/check").says(200, "Brought in: 1 apiary, 1 hive, 2 boxes, 3 openings", "There is nothing new in it", "Row 6")
	ansel.get("/audit").says(200, "import records", "3 openings")

	club := c.club()
	moor := club.Apiaries[len(club.Apiaries)-1]
	if moor.Name != "Moor" || moor.Longitude != -79.9 || len(moor.Keepers) != 1 || len(moor.Hives) != 1 || moor.Hives[0].Boxes[0].Name != "E1" {
		t.Errorf("the new apiary: %+v", moor)
	}
	openings := club.Apiaries[0].Hives[0].Boxes[0].Openings
	last := openings[len(openings)-1]
	if last.On != scheduler.NewDate(2027, 4, 3) || last.Joint != scheduler.Stuck || last.Opener.Name != "der alte Tam" || last.Gaps[0].MM != 8.5 {
		t.Errorf("the opening: %+v", last)
	}

	ansel.post(at+"/forget", fields("sure", "yes"))
	ansel.get(at+"/check").says(404, "That spreadsheet is not here any more")
}

// A new apiary of a table is found by name and in any form of coordinates, and what is
// filled in is seen before it counts.
func TestAPlaceForAnApiaryOfATable(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	at := ansel.paste(ownTable)
	ansel.post(at+"/columns", fields(ownColumns...)).says(303)
	ansel.get(at+"/questions").says(200, "A town or village near it")
	found := ansel.post(at+"/questions", fields("where:moor", "Prag, Tschechien", "look:moor", "yes", "lowest", "deep")).
		says(200, "Filled in").hides("Some answers are missing").holds(`<option value="deep" selected>`).holds(`value="Europe/Prague"`)
	for _, field := range []string{"latitude:moor", "longitude:moor", "elevation_m:moor"} {
		if found.field(field) == "" {
			t.Errorf("%s is not filled in", field)
		}
	}
	several := ansel.post(at+"/questions", fields("where:moor", "Springfield", "look:moor", "yes")).says(200, "Which one is it?")
	pick := regexp.MustCompile(`name="pick:moor" value="(\d+)"`).FindStringSubmatch(several.body)
	if pick == nil {
		t.Fatal("no place can be chosen")
	}
	ansel.post(at+"/questions", fields("where:moor", "Springfield", "pick:moor", pick[1])).says(200).holds("Springfield")
	ansel.post(at+"/questions", fields("where:moor", "Nowhereinparticular", "look:moor", "yes")).says(422, "No place is known as").holds(`value="Nowhereinparticular"`)

	answers := fields("order", "day-first", "degree:bombenfest", "4", "scraped", "none", "units", "mm", "lowest", "deep", "upper", "medium", "stack", "bottom-up", "place:moor", "*new")
	ansel.post(at+"/questions", answers).says(422, "Say where it is")
	answers.Set("where:moor", "48° 12' 3.6\" N, 16° 22' 10.2\" E")
	seen := ansel.post(at+"/questions", answers).says(200)
	if got := ansel.get(at + "/check"); got.header.Get("Location") != at+"/questions" {
		t.Errorf("it counts before anybody saw it: %d", got.status)
	}
	for _, field := range []string{"where:moor", "placed:moor", "latitude:moor", "longitude:moor", "elevation_m:moor", "timezone:moor"} {
		answers.Set(field, html.UnescapeString(seen.field(field)))
	}
	if got := ansel.post(at+"/questions", answers); got.header.Get("Location") != at+"/check" {
		t.Fatalf("after the questions: %d %s", got.status, got.text())
	}
	check := ansel.get(at + "/check")
	ansel.post(at+"/check", fields("expects", check.field("expects"), "leave", "yes")).says(303)
	if moor := c.club().ApiaryNamed("Moor"); moor == nil || moor.Latitude != 48.201 || moor.Longitude != 16.3695 || moor.Timezone != "Europe/Vienna" {
		t.Errorf("the apiary is %+v", moor)
	}
}

// What waits to be gone on with is the club's alone.
func TestASpreadsheetIsOfOneClub(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel, dorrit := c.as("Ansel"), c.as("Dorrit")
	at := ansel.paste(ownTable)
	for _, step := range []string{"/columns", "/questions", "/check", "/refused.csv"} {
		dorrit.get(at + step).says(404).hides("Moor")
	}
	dorrit.get("/bring-in").hides(at)
	dorrit.post(at+"/columns", fields(ownColumns...)).says(404)
	dorrit.post(at+"/forget", fields("sure", "yes"))
	ansel.get("/bring-in").says(200, "Not finished yet", "the pasted cells")
	ansel.get(at+"/columns").says(200, "Moor")
}

// What is taken out as a spreadsheet is known when it comes in again.
func TestAnExportedSpreadsheetIsKnown(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	file := ansel.get("/records/file?as=xlsx")
	if !strings.HasSuffix(file.header.Get("Content-Disposition"), `.xlsx"`) || !bytes.HasPrefix([]byte(file.body), []byte("PK")) {
		t.Fatalf("the export: %v", file.header)
	}
	got := ansel.upload("/bring-in", "openings.xlsx", file.body)
	at := path.Dir(got.header.Get("Location"))
	var columns []string
	page := ansel.get(at + "/columns").body
	for i := range 30 {
		_, rest, ok := strings.Cut(page, `name="column-`+itoa(int64(i))+`"`)
		if !ok {
			continue
		}
		rest, _, _ = strings.Cut(rest, "</select>")
		before, _, _ := strings.Cut(rest, `" selected`)
		columns = append(columns, "column-"+itoa(int64(i)), before[strings.LastIndex(before, `"`)+1:])
	}
	got = ansel.post(at+"/columns", fields(append(columns, "head", "1")...))
	if got.header.Get("Location") != at+"/check" {
		t.Fatalf("something is asked: %d %s", got.status, got.text())
	}
	ansel.get(at+"/check").says(200, "There is nothing new in it", "here already").hides("refused, see below")
}

func TestASheetOfAFileIsChosen(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	data, err := os.ReadFile("../store/notebook/testdata/windows.csv")
	if err != nil {
		t.Fatal(err)
	}
	got := ansel.upload("/bring-in", "völker.csv", string(data))
	at := path.Dir(got.header.Get("Location"))
	ansel.get(at+"/columns").says(200, "it was read as Windows-1252", "Lärche", "völker.csv")
	if got := ansel.post(at+"/columns", fields("head", "4", "column-0", "apiary")); got.header.Get("Location") != at+"/columns" {
		t.Errorf("another row for the headings: %d %s", got.status, got.text())
	}
	ansel.get(at+"/columns").says(200, "8 rows")
	ansel.post(at+"/columns", fields("head", "99")).says(422)
}

// Rows that write an apiary otherwise are said to be of it.
func TestBringingInAnApiaryWrittenInTwoWays(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	at := ansel.paste("Apiary\tHive\tMark\tKind\tDate\tHow hard\n" +
		"Long Orchrd\t1\tL1\tdeep\t2027-04-03\tfirm\nLong Orchard\t1\tL1\tdeep\t2027-05-03\tlight\n")
	ansel.follow(at+"/columns", fields("head", "1", "column-0", "apiary", "column-1", "hive", "column-2", "box", "column-3", "kind", "column-4", "day", "column-5", "how-hard"))
	ansel.get(at+"/questions").says(200, "Long Orchard, otherwise written", "Long Orchrd, otherwise written")
	place := []string{"latitude:long orchard", "44.1", "longitude:long orchard", "-79.9", "elevation_m:long orchard", "300", "timezone:long orchard", "America/Toronto"}
	answers := func(wrong, right string) url.Values {
		return fields(append([]string{"place:long orchrd", wrong, "place:long orchard", right, "stack", "bottom-up", "scraped", "all"}, place...)...)
	}
	ansel.post(at+"/questions", answers("*like:long orchard", "*like:long orchrd")).says(422, "Some answers are missing or cannot be right")
	ansel.post(at+"/questions", answers("*like:elsewhere", "*new")).says(422, "Some answers are missing or cannot be right")
	if got := ansel.post(at+"/questions", answers("*like:long orchard", "*new")); got.header.Get("Location") != at+"/check" {
		t.Fatalf("after the questions: %d %s", got.status, got.text())
	}
	ansel.get(at+"/check").says(200, "1 apiary", "1 hive", "1 box", "2 openings")
	ansel.get(at + "/questions").holds(`value="*like:long orchard" selected`)
}

// Whose boxes stand as they happen to come in the table is said, and only that.
func TestTheCheckSaysWhichStacksAreGuessed(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	for rows, guessed := range map[string]bool{
		"Orchard\tAsh\tA1\t\tfirm\nOrchard\tAsh\tA2\t2027-04-03\tfirm\nOrchard\tAsh\tA1\t2027-05-03\tfirm\n": false,
		"Orchard\tAsh\tA1\t2027-04-03\tfirm\nOrchard\tAsh\tA2\t2027-05-03\tfirm\n":                           true,
	} {
		at := ansel.paste("Apiary\tHive\tMark\tDate\tHow hard\n" + rows)
		ansel.post(at+"/columns", fields("head", "1", "column-0", "apiary", "column-1", "hive", "column-2", "box", "column-3", "day", "column-4", "how-hard"))
		ansel.post(at+"/questions", fields("stack", "bottom-up", "scraped", "all", "lowest", "deep", "upper", "medium")).says(303)
		check := ansel.get(at + "/check")
		if guessed {
			check.says(200, "order of the boxes guessed", "in 1 hive: Ash")
			c.speaks("Ansel", "de")
			ansel.get(at+"/check").says(200, "Reihenfolge der Zargen geraten", "bei 1 Volk: Ash")
			c.speaks("Ansel", "en")
		} else {
			check.says(200, "1 row is refused").hides("guessed")
		}
	}
}

// Rows that are refused for the same reason stand in one line, with the column that it
// is about; the list of them has each row.
func TestEqualRefusalsStandTogether(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	rows := "Apiary\tHive\tMark\tKind\tWhen\tPart\tHow hard\n"
	for range 7 {
		rows += "Orchard\tAsh\tA1\tdeep\tneulich\tattic\tfirm\n"
	}
	rows += "Orchard\tAsh\tA1\tdeep\t2027-04-03\tBrood\tfirm\n" + strings.Repeat("Orchard\tAsh\tA2\tdeep\t2027-04-03\tcellar\tfirm\n", 2)
	at := ansel.paste(rows)
	ansel.post(at+"/columns", fields("head", "1", "column-0", "apiary", "column-1", "hive", "column-2", "box", "column-3", "kind", "column-4", "day", "column-5", "position", "column-6", "how-hard"))
	if got := ansel.post(at+"/questions", fields("scraped", "unsaid")); got.header.Get("Location") != at+"/check" {
		t.Fatalf("after the questions: %d %s", got.status, got.text())
	}
	check := ansel.get(at+"/check").says(200, "9 rows are refused", "Rows 2, 3, 4, 5, 6 and 2 more", "Part: &#34;attic&#34; is no place in a stack", "When: &#34;neulich&#34; is not understood as a day", "Rows 10 and 11", "Part: &#34;cellar&#34; is no place")
	if n := strings.Count(check.text(), "&#34;attic&#34;"); n != 1 {
		t.Errorf("the reason of seven rows stands there %d times", n)
	}
	if n := strings.Count(ansel.get(at+"/refused.csv").body, "attic"); n != 14 { // in the cell and in the reason
		t.Errorf("the list of refused rows has %d", n)
	}
	c.speaks("Ansel", "de")
	ansel.get(at+"/check").says(200, "Zeilen 2, 3, 4, 5, 6 und 2 weitere", "Part: „attic“ ist kein Platz in einem Stapel")
}

// What was scraped is asked where the table does not say it, and no page says what nobody
// did.
func TestTheTableSaysNothingOfScraping(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	for answer, says := range map[string][]string{
		"all":    {"all, as you said, for 1 opening", "Scraped: all."},
		"unsaid": {"1 opening stays without a word of it", ""},
	} {
		at := ansel.paste("Apiary\tHive\tMark\tKind\tDate\tHow hard\nOrchard\t" + answer + "\tbox " + answer + "\tdeep\t2027-04-03\tfirm\n")
		ansel.post(at+"/columns", fields("head", "1", "column-0", "apiary", "column-1", "hive", "column-2", "box", "column-3", "kind", "column-4", "day", "column-5", "how-hard"))
		ansel.get(at+"/questions").says(200, "What was scraped", "The table does not say it of 1 opening")
		ansel.post(at+"/questions", fields("scraped", "most")).says(422, "Some answers are missing")
		ansel.post(at+"/questions", fields("scraped", answer)).says(303)
		check := ansel.get(at+"/check").says(200, "where nothing is said of scraping", says[0])
		ansel.post(at+"/check", fields("expects", check.field("expects"))).says(303)
		for _, h := range c.club().Apiaries[0].Hives {
			if h.Name != answer {
				continue
			}
			box := ansel.get(boxPath(h.Boxes[0].ID)).says(200, "Joint firm", says[1])
			if says[1] == "" {
				box.hides("Scraped:")
			}
			if h.Boxes[0].Openings[0].Scraped != scheduler.Scraped(strings.TrimSuffix(answer, "unsaid")) {
				t.Errorf("%s is recorded as %q", answer, h.Boxes[0].Openings[0].Scraped)
			}
		}
	}
}

// In a club without an apiary, places of one name come first that lie where the browser's
// clock is, or else its language is spoken; then those near what was answered before.
func TestPlacesOfATableLieNearWhoeverAsks(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	cora := c.as("Dorrit")
	at := cora.paste("Apiary\tHive\tMark\tKind\tDate\tHow hard\tScraped\nFar\t1\tF1\tdeep\t2027-04-03\tfirm\tall\nNear\t2\tN1\tdeep\t2027-04-03\tfirm\tall\n")
	cora.post(at+"/columns", fields("head", "1", "column-0", "apiary", "column-1", "hive", "column-2", "box", "column-3", "kind", "column-4", "day", "column-5", "how-hard", "column-6", "scraped"))
	first := func(answers ...string) string {
		t.Helper()
		got := cora.post(at+"/questions", fields(append(answers, "where:far", "Ludlow", "look:far", "yes")...)).says(200, "Which one is it?")
		_, rest, _ := strings.Cut(got.text(), "Ludlow, ")
		return rest[:20]
	}
	for zone, want := range map[string]string{"Europe/London": "England", "America/New_York": "Massachusetts", "Moon/Rille": "Massachusetts", "": "Massachusetts"} {
		if got := first("zone", zone); !strings.HasPrefix(got, want) {
			t.Errorf("in %q the first is %q", zone, got)
		}
	}
	cora.get(at + "/questions").holds(`name="zone"`)
	cora.post(at+"/questions", fields("place:near", "*new", "latitude:near", "52.2", "longitude:near", "-2.7", "elevation_m:near", "100", "timezone:near", "Europe/London"))
	if got := first("place:near", "*new", "latitude:near", "52.2", "longitude:near", "-2.7", "elevation_m:near", "100", "timezone:near", "Europe/London", "zone", "America/New_York"); !strings.HasPrefix(got, "England") {
		t.Errorf("beside what was answered the first is %q", got)
	}
}

// The order of day and month follows the days that leave no doubt; the check says so and
// takes the other.
func TestTheOrderOfDaysIsSaidAtTheCheck(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	at := ansel.paste("Apiary\tHive\tMark\tKind\tDate\tHow hard\tScraped\nOrchard\tAsh\tA1\tdeep\t03/04/2027\tfirm\tall\nOrchard\tAsh\tA1\tdeep\t25/04/2027\tfirm\tall\n")
	got := ansel.post(at+"/columns", fields("head", "1", "column-0", "apiary", "column-1", "hive", "column-2", "box", "column-3", "kind", "column-4", "day", "column-5", "how-hard", "column-6", "scraped"))
	if got.header.Get("Location") != at+"/check" {
		t.Fatalf("after the columns: %d %s", got.status, got.text())
	}
	ansel.get(at+"/check").says(200, "day first, as in 03/04/2027, which is read as 3 April 2027", "2 openings").hides("refused, see below")
	ansel.post(at+"/check", fields("order", "month-first")).says(303)
	ansel.get(at+"/check").says(200, "month first, as in 03/04/2027, which is read as 4 March 2027", "1 opening", "1 row is refused", "The day stands first")
	ansel.post(at+"/check", fields("order", "day-first")).says(303)
	ansel.get(at+"/check").says(200, "2 openings")
	c.speaks("Ansel", "de")
	ansel.get(at+"/check").says(200, "zuerst der Tag, wie bei 03/04/2027", "Der Monat steht zuerst")
}
