package notebook

import (
	"slices"
	"testing"

	"pryday/scheduler"
)

// The words that our own checklists use, and those that people write, say how much
// was scraped; "yes" says no more than that something was, and is asked about.
func TestWordsForScraping(t *testing.T) {
	for word, want := range map[string]scheduler.Scraped{
		"alles": scheduler.ScrapedAll, "Sauber": scheduler.ScrapedAll, "all": scheduler.ScrapedAll, "clean": scheduler.ScrapedAll,
		"teils": scheduler.ScrapedPart, "zum Teil": scheduler.ScrapedPart, "some": scheduler.ScrapedPart, "part": scheduler.ScrapedPart,
		"nichts": scheduler.ScrapedNone, "NEIN": scheduler.ScrapedNone, "none": scheduler.ScrapedNone, "not": scheduler.ScrapedNone,
		"yes": "", "ja": "", "maybe": "",
	} {
		if got := known().scraped[fold(word)]; got != want {
			t.Errorf("%q is taken for %q, want %q", word, got, want)
		}
	}
	rows := [][]string{
		{"Apiary", "Hive", "Box", "Date", "How hard", "Scraped?"},
		{"Orchard", "Larch", "R14", "2025-05-03", "firm", "yes"},
		{"Orchard", "Larch", "R14", "2025-06-03", "firm", "y"},
		{"Orchard", "Larch", "R14", "2025-07-03", "firm", "Ja"},
		{"Orchard", "Larch", "R14", "2025-08-03", "firm", "n"},
		{"Orchard", "Larch", "R14", "2025-09-03", "firm", "1"},
	}
	choices, c := suggest(rows), smallClub()
	asked := Look(rows, choices, c, someday).Asked.Scrapings
	if len(asked) != 2 || asked[0] != (Word{"yes", "yes", 3}) || asked[1].Folded != "1" {
		t.Errorf("asked are %v, want yes once for three rows, and 1", asked)
	}
	choices.Scrapings = map[string]string{"yes": "all", "1": "part"}
	if res := Read(rows, choices, c, 1, someday); res.Openings != 5 {
		t.Errorf("%s, asks %q", sum(res), askedOf(res))
	}
	var got []scheduler.Scraped
	for _, o := range c.Apiaries[0].Hives[0].Boxes[0].Openings[1:] {
		got = append(got, o.Scraped)
	}
	if want := []scheduler.Scraped{"all", "all", "all", "none", "part"}; !slices.Equal(got, want) {
		t.Errorf("scraped %v, want %v", got, want)
	}
	if got := known().headings[fold("sauber")]; got != Scraped {
		t.Errorf("a column named sauber is taken for %q", got)
	}
}
