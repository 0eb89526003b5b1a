package text

import (
	"slices"
	"strings"
	"sync"

	"golang.org/x/text/language"
)

// maxAcceptLanguage bounds what is read of a browser's wishes, in bytes.
const maxAcceptLanguage = 500

// In returns a speaker of the language closest to a BCP 47 tag, as it is
// spoken in the tag's region, in a reader's units. An empty or unknown tag
// gives English.
func In(tag string, units Units) *Speaker {
	if known, ok := tongues[tag]; ok {
		return &Speaker{lang: known(), units: units}
	}
	want, err := language.Parse(tag)
	if err != nil {
		want = language.Make(fallback)
	}
	return &Speaker{lang: closest(want), units: units}
}

// ForBrowser returns a speaker of the language that suits an Accept-Language
// header best.
func ForBrowser(header string, units Units) *Speaker {
	wants, _, err := language.ParseAcceptLanguage(header[:min(len(header), maxAcceptLanguage)])
	if err != nil {
		wants = nil
	}
	return &Speaker{lang: closest(wants...), units: units}
}

// UnitsForBrowser returns the units that readers of the first language of a header
// Accept-Language measure in: inches in the United States, Liberia and Myanmar, where
// CLDR has the US system of measurement (from memory); where no
// region is said, millimetres.
func UnitsForBrowser(header string) Units {
	if slices.Contains([]string{"US", "LR", "MM"}, LandForBrowser(header)) {
		return Inches
	}
	return Millimetres
}

// LandForBrowser returns the region that the first language of a header Accept-Language
// names, as a code of ISO 3166; empty where it names none.
func LandForBrowser(header string) string {
	wants, _, err := language.ParseAcceptLanguage(header[:min(len(header), maxAcceptLanguage)])
	if err != nil || len(wants) == 0 {
		return ""
	}
	if region, sure := wants[0].Region(); sure == language.Exact {
		return region.String()
	}
	return ""
}

// known are the languages to choose from, without those of regions, and what
// matches wishes with them.
var known = sync.OnceValues(func() (bases []string, match language.Matcher) {
	var parsed []language.Tag
	for _, tag := range tags() {
		if !strings.Contains(tag, "-") {
			bases = append(bases, tag)
			parsed = append(parsed, language.Make(tag))
		}
	}
	return bases, language.NewMatcher(parsed)
})

// closest returns the language that suits wishes best, the first first.
func closest(wants ...language.Tag) *tongue {
	bases, match := known()
	_, i, _ := match.Match(wants...)
	base := bases[i]
	for _, want := range wants {
		if b, _ := want.Base(); b.String() != base {
			continue
		}
		if t := regional(base, want); t != nil {
			return t
		}
		break
	}
	return tongues[base]()
}

// regional returns a language as it is spoken in the region of a tag; nil
// where the tag names none or it is spoken there as elsewhere.
func regional(base string, want language.Tag) *tongue {
	region, confidence := want.Region()
	if confidence != language.Exact {
		return nil
	}
	for tag, read := range tongues {
		if strings.HasPrefix(tag, base+"-") && slices.Contains(read().Regions, region.String()) {
			return read()
		}
	}
	return nil
}

// Language is one language that can be chosen.
type Language struct {
	Tag  string // BCP 47
	Name string // as those who speak it call it
}

// Languages lists every language, the fallback first.
func Languages() []Language {
	var out []Language
	for _, tag := range tags() {
		out = append(out, Language{tag, tongues[tag]().Name})
	}
	return out
}
