package words

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/text/language"

	"pryday/scheduler"
	"pryday/scheduler/text"
	_ "pryday/testdata/testrun" // the same zones and lots in every run
)

// verb matches one verb of a format string, with its explicit index if any.
var verb = regexp.MustCompile(`%(?:\[(\d+)\])?([a-zA-Z%])`)

// verbs returns the kinds of a format's arguments in the order in which the
// caller passes them: "1d 2s".
func verbs(format string) string {
	var out []string
	next := 1
	for _, m := range verb.FindAllStringSubmatch(format, -1) {
		if m[2] == "%" {
			continue
		}
		if m[1] != "" {
			fmt.Sscan(m[1], &next)
		}
		out = append(out, fmt.Sprint(next, m[2]))
		next++
	}
	slices.Sort(out)
	return strings.Join(slices.Compact(out), " ")
}

// Every phrase exists in every language and takes the same arguments in each.
func TestPhrasesComplete(t *testing.T) {
	for key, p := range phrases {
		want := verbs(p.en.one)
		for _, tag := range Languages {
			got := p.in(tag)
			if strings.TrimSpace(got.one) == "" {
				t.Errorf("%s: nothing in %s", key, tag)
			}
			if (got.other == "") != (p.en.other == "") {
				t.Errorf("%s: %s has a plural and another language has none", key, tag)
			}
			if want == "" && strings.Contains(got.one, "%") {
				t.Errorf("%s: %s has a %% and takes nothing; it is said as it is", key, tag)
			}
			if v := verbs(got.one); v != want {
				t.Errorf("%s: %s takes %q, English %q", key, tag, v, want)
			}
			if v := verbs(got.other); got.other != "" && v != want {
				t.Errorf("%s: the plural in %s takes %q, want %q", key, tag, v, want)
			}
			if got.other != "" && !strings.HasPrefix(want, "1d") {
				t.Errorf("%s: the number of a plural is the first argument, it takes %q", key, want)
			}
		}
	}
}

// Every text of the scheduler has its German, with the same arguments.
func TestTradeGermanComplete(t *testing.T) {
	known := map[string]bool{}
	for _, key := range text.TextKeys() {
		known[key] = true
		german, ok := tradeGerman[key]
		if !ok {
			t.Errorf("no German for %q: %q", key, text.English(key))
			continue
		}
		if got, want := verbs(german), verbs(text.English(key)); got != want {
			t.Errorf("%s: German takes %q, English %q", key, got, want)
		}
	}
	for key := range tradeGerman {
		if !known[key] {
			t.Errorf("%q is translated and not said any more", key)
		}
	}
}

// Every phrase can be said, in the singular and in the plural.
func TestSayEveryPhrase(t *testing.T) {
	for _, lang := range []string{"en", "de"} {
		s := In(lang, "")
		for key, p := range phrases {
			for _, n := range []int{1, 2, 5} {
				var args []any
				for _, v := range strings.Fields(verbs(p.en.one)) {
					if strings.HasSuffix(v, "d") {
						args = append(args, n)
					} else {
						args = append(args, "X")
					}
				}
				got := s.Say(key, args...)
				if got == "" || strings.Contains(got, "%!") || strings.Contains(got, "%[") {
					t.Errorf("%s: %s is said as %q", lang, key, got)
				}
			}
		}
	}
}

func TestSpeakers(t *testing.T) {
	d := scheduler.NewDate(2027, 3, 6)
	cases := []struct{ tag, language, day, list, length, chance, boxes string }{
		{"", "en", "Saturday 6 March 2027", "a, b and c", "8.5 mm", "a 1 in 5 chance", "Orchard: open 1 box"},
		{"en-NZ", "en", "Saturday 6 March 2027", "a, b and c", "8.5 mm", "a 1 in 5 chance", "Orchard: open 1 box"},
		{"de-CH", "de", "Samstag, 6. März 2027", "a, b und c", "8,5 mm", "eine Chance von 1 zu 5", "Orchard: 1 Zarge öffnen"},
		{"ja", "en", "Saturday 6 March 2027", "a, b and c", "8.5 mm", "a 1 in 5 chance", "Orchard: open 1 box"},
		{"not a tag", "en", "Saturday 6 March 2027", "a, b and c", "8.5 mm", "a 1 in 5 chance", "Orchard: open 1 box"},
	}
	for _, c := range cases {
		t.Run(c.tag, func(t *testing.T) {
			s := In(c.tag, text.Millimetres)
			for _, row := range []struct{ name, got, want string }{
				{"language", s.Language(), c.language},
				{"day", s.Day(d), c.day},
				{"list", s.List([]string{"a", "b", "c"}), c.list},
				{"length", s.Length(8.5), c.length},
				{"chance", s.Chance(0.21), c.chance},
				{"boxes", s.Say("visit.open", 1, "Orchard"), c.boxes},
			} {
				if row.got != row.want {
					t.Errorf("%s is %q, want %q", row.name, row.got, row.want)
				}
			}
			gap := s.Tell(text.Text{Key: "trend.widening", Args: []any{scheduler.AboveFrames, text.Length(8.5)}})
			if !strings.Contains(gap, c.length) {
				t.Errorf("%q, want %s in it", gap, c.length)
			}
		})
	}
	if got := In("de", text.Inches).Length(7.9375); got != "5/16 in" {
		t.Errorf("5/16 in is said as %q", got)
	}
	if got := In("de", "").Tell(text.Text{Key: "verdict.sealed"}); got != tradeGerman["verdict.sealed"] {
		t.Errorf("a text of the scheduler is said as %q", got)
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
}

func TestSayUnknownPhrase(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("an unknown phrase was said")
		}
	}()
	In(language.English.String(), "").Say("no such phrase")
}

// Words of the trade follow the place that a member's English is from.
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
		if got := In(c.tag, "").Word(c.key); got != c.want {
			t.Errorf("%s: %s is %q, want %q", c.tag, c.key, got, c.want)
		}
	}
	for _, key := range text.TextKeys() {
		for tag, never := range map[string][]string{"en-GB": {"inner cover", "frame rest", "An crown"}, "en-US": {" lug", "a ear", "frame rest"}} {
			for _, word := range never {
				if s := strings.ToLower(In(tag, "").trade.Format(key)); strings.Contains(" "+s, strings.ToLower(word)) {
					t.Errorf("%s: %s says %q", tag, key, s)
				}
			}
		}
	}
}
