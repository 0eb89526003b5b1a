package text

import (
	"strings"
	"testing"
	"time"
)

// civil is a day for tests.
type civil struct{ time.Time }

func (c civil) Civil() (int, time.Month, int) { return c.Date() }

func on(year int, month time.Month, day int) civil {
	return civil{time.Date(year, month, day, 0, 0, 0, 0, time.UTC)}
}

func TestSpeakers(t *testing.T) {
	d := on(2027, 3, 6)
	cases := []struct{ tag, language, day, list, length, chance, boxes string }{
		{"", "en", "Saturday 6 March 2027", "a, b and c", "8.5 mm", "a 1 in 5 chance", "Orchard: open 1 box"},
		{"en-NZ", "en", "Saturday 6 March 2027", "a, b and c", "8.5 mm", "a 1 in 5 chance", "Orchard: open 1 box"},
		{"de-CH", "de", "Samstag, 6. März 2027", "a, b und c", "8,5 mm", "in 1 von 5 Fällen", "Orchard: 1 Zarge öffnen"},
		{"ja", "en", "Saturday 6 March 2027", "a, b and c", "8.5 mm", "a 1 in 5 chance", "Orchard: open 1 box"},
		{"not a tag", "en", "Saturday 6 March 2027", "a, b and c", "8.5 mm", "a 1 in 5 chance", "Orchard: open 1 box"},
	}
	for _, c := range cases {
		t.Run(c.tag, func(t *testing.T) {
			s := In(c.tag, Millimetres)
			for _, row := range []struct{ name, got, want string }{
				{"language", s.Language(), c.language},
				{"day", s.Day(d), c.day},
				{"day as an argument", s.Say("mail.item.moved", Full(d), d), s.Say("mail.item.moved", c.day, s.PlainDay(d))},
				{"list", s.List([]string{"a", "b", "c"}), c.list},
				{"length", s.Length(8.5), c.length},
				{"chance", s.Chance(0.21), c.chance},
				{"boxes", s.Say("visit.open", 1, "Orchard"), c.boxes},
			} {
				if row.got != row.want {
					t.Errorf("%s is %q, want %q", row.name, row.got, row.want)
				}
			}
		})
	}
	if got := In("de", Inches).Length(7.9375); got != "5/16 in" {
		t.Errorf("5/16 in is said as %q", got)
	}
	if got := In("de", "").Number(12.5, 1); got != "12,5" {
		t.Errorf("12.5 is said as %q", got)
	}
}

// What ends a sentence itself gets no second stop.
func TestNoStopIsDoubled(t *testing.T) {
	say := In("en", "")
	for note, want := range map[string]string{
		"Stopped": "Last time: note: Stopped.", "Stopped.": "Last time: note: Stopped.", "Stopped!": "Last time: note: Stopped!",
		"Stopped …": "Last time: note: Stopped …", "3.5": "Last time: note: 3.5.",
	} {
		if got := say.Say("page.visit.last", New("checklist.last.note", note)); got != want {
			t.Errorf("the note %q is said as %q, want %q", note, got, want)
		}
	}
}

func TestDays(t *testing.T) {
	english, german := In("en", ""), In("de", "")
	for _, c := range []struct{ got, want string }{
		{english.ShortDay(on(2027, 3, 6)), "Saturday 6 March"},
		{english.PlainDay(on(2027, 3, 6)), "6 March 2027"},
		{english.Weekday(on(2027, 3, 6)), "Sat"},
		{english.Terse(2027).PlainDay(on(2027, 3, 6)), "6 Mar"},
		{english.Terse(2027).PlainDay(on(2026, 3, 6)), "6 Mar 2026"},
		{german.Terse(2027).PlainDay(on(2027, 10, 6)), "6. Okt."},
		{german.ShortDay(on(2027, 3, 6)), "Samstag, 6. März"},
		{german.PlainDay(on(2027, 3, 6)), "6. März 2027"},
		{english.FirstWeekday().String(), "Monday"},
		{german.FirstWeekday().String(), "Monday"},
		{In("en-GB", "").FirstWeekday().String(), "Monday"},
		{In("en-US", "").FirstWeekday().String(), "Sunday"}, // CLDR's weekData, from memory
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

// A chance is said in whole numbers near the probability.
func TestChance(t *testing.T) {
	cases := []struct {
		p    float64
		want string
	}{
		{0, "less than a 1 in 50 chance"},
		{0.019, "less than a 1 in 50 chance"},
		{0.02, "a 1 in 50 chance"},
		{0.0204, "a 1 in 50 chance"},
		{0.044, "a 1 in 25 chance"},
		{0.077, "a 1 in 13 chance"},
		{0.2, "a 1 in 5 chance"},
		{0.33, "a 1 in 3 chance"},
		{0.45, "a 1 in 2 chance"},
		{0.5, "a 1 in 2 chance"},
		{0.62, "a 3 in 5 chance"},
		{0.7, "a 7 in 10 chance"},
		{0.8, "a 4 in 5 chance"},
		{0.949, "a 9 in 10 chance"},
		{0.96, "all but certain"},
		{1, "all but certain"},
	}
	for _, c := range cases {
		if got := In("", "").Chance(c.p); got != c.want {
			t.Errorf("%g is said as %q, want %q", c.p, got, c.want)
		}
	}
	if got := In("de", "").Chance(0.9); got != "in 9 von 10 Fällen" {
		t.Errorf("0.9 is said as %q in German", got)
	}
}

// "9 zu 10" is how Germans say odds of 9 to 10, which is a chance of 47 %; a
// chance of 9 in 10 is "9 von 10". From memory.
func TestGermanSaysChancesNotOdds(t *testing.T) {
	for key, e := range tongues["de"]().texts {
		if strings.Contains(e.other, "%d zu %d") || strings.Contains(e.other, "1 zu ") {
			t.Errorf("%s says %q", key, e.other)
		}
	}
}

// Words of the trade follow the place that a reader's English is from.
func TestRegionalWords(t *testing.T) {
	cases := []struct{ tag, key, want string }{
		{"en", "part.lid", "lid or inner cover"},
		{"en-GB", "part.lid", "lid or crown board"},
		{"en-NZ", "condition.rest-worn", "frame runner worn or bent"},
		{"en-US", "condition.rest-worn", "frame rabbet worn or bent"},
		{"en-US", "condition.lug-broken", "frame ear broken"},
		{"en-GB", "condition.lug-broken", "frame lug broken"},
		{"en-CA", "part.lid", "lid or inner cover"},
		{"de-CH", "part.lid", "Deckel oder Innendeckel"},
	}
	for _, c := range cases {
		if got := In(c.tag, "").Say(c.key); got != c.want {
			t.Errorf("%s: %s is %q, want %q", c.tag, c.key, got, c.want)
		}
	}
	for key := range tongues[fallback]().texts {
		for tag, never := range map[string][]string{"en-GB": {"inner cover", "frame rest", "An crown"}, "en-US": {" lug", "a ear", "frame rest"}} {
			for _, word := range never {
				if s := strings.ToLower(tongues[tag]().texts[key].other); strings.Contains(" "+s, strings.ToLower(word)) {
					t.Errorf("%s: %s says %q", tag, key, s)
				}
			}
		}
	}
}

// What a browser wishes for is heard in its order.
func TestUnitsForBrowser(t *testing.T) {
	for header, want := range map[string]Units{
		"en-US,en;q=0.9": Inches, "es-US": Inches, "en-GB,en-US;q=0.9": Millimetres, "en": Millimetres, "de-AT,de;q=0.9": Millimetres, "": Millimetres, "?!": Millimetres,
	} {
		if got := UnitsForBrowser(header); got != want {
			t.Errorf("%q measures in %q, want %q", header, got, want)
		}
	}
}

func TestForBrowser(t *testing.T) {
	for header, want := range map[string]string{
		"":                                    "en",
		"de-AT,de;q=0.9,en;q=0.5":             "de",
		"fr,de;q=0.8,en;q=0.7":                "de",
		"en-GB,en;q=0.9,de;q=0.8":             "en-GB",
		"en;q=0.5, de;q=0.9":                  "de",
		"pt-BR":                               "en",
		"de;q=nonsense":                       "en",
		strings.Repeat("x-unknown,", 100_000): "en",
	} {
		if got := ForBrowser(header, "").tongue().tag.String(); got != want {
			t.Errorf("%.40q is answered in %s, want %s", header, got, want)
		}
	}
}

// A key that nothing has shows, and an English text stands in for one that a
// language lacks.
func TestWhatIsMissingShows(t *testing.T) {
	if got := In("de", "").Say("no.such"); got != "no.such" {
		t.Errorf("an unknown key is said as %q", got)
	}
	poor := &Speaker{lang: &tongue{grammar: tongues["de"]().grammar, tag: tongues["de"]().tag}}
	if got := poor.Say("bring.count", 2, "X"); got != "2 x X" {
		t.Errorf("a text that the language lacks is said as %q", got)
	}
}

func TestLanguages(t *testing.T) {
	all := Languages()
	if all[0] != (Language{"en", "English"}) || len(all) != len(tags()) {
		t.Errorf("the languages are %v", all)
	}
}

// A hive that is a number is said with a word before it.
func TestHivesThatAreNumbers(t *testing.T) {
	for name, want := range map[string]string{"7": "Volk 7", "7a": "Volk 7a", "12": "Volk 12", "Larch": "Larch", "Hive 3": "Hive 3", "": "", "2nd by the gate": "2nd by the gate"} {
		if got := In("de", Millimetres).Tell(New("page.recent.where", "R1", Hive(name), "Hang")); !strings.Contains(got, want) || want == name && strings.Contains(got, "Volk") {
			t.Errorf("%q is said in %q, want %q", name, got, want)
		}
	}
}
