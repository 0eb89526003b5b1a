package notebook

import (
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
	if got := known().headings[fold("sauber")]; got != Scraped {
		t.Errorf("a column named sauber is taken for %q", got)
	}
}
