package words

import (
	"strings"

	"pryday/scheduler/text"

	"golang.org/x/text/language"
)

// The words of the trade that differ between places that speak English:
// common practice, no source. Formats are changed before names go into them.
var (
	britishWords = strings.NewReplacer(
		"An inner cover", "A crown board", "an inner cover", "a crown board", "inner cover", "crown board",
		"frame rest", "frame runner", "Frame rest", "Frame runner",
	)
	americanWords = strings.NewReplacer(
		"A lug", "An ear", "a lug", "an ear", "frame lug", "frame ear", "Frame lug", "Frame ear", " lugs", " ears", " lug ", " ear ",
		"frame rest", "frame rabbet", "Frame rest", "Frame rabbet",
	)
	regionalWords = map[string]*strings.Replacer{
		"GB": britishWords, "IE": britishWords, "AU": britishWords, "NZ": britishWords, "ZA": britishWords,
		"US": americanWords, "CA": americanWords,
	}
)

// regional returns the English format strings as they are said where a tag
// says that it is spoken; nil where it does not say.
func regional(tag language.Tag) func(key string) string {
	region, confidence := tag.Region()
	words := regionalWords[region.String()]
	if confidence != language.Exact || words == nil {
		return nil
	}
	return func(key string) string { return words.Replace(text.English(key)) }
}
