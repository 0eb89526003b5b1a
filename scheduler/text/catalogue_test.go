package text

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"golang.org/x/text/feature/plural"
)

// whole are the languages with a file of their own, each text in it.
func whole() []string {
	bases, _ := known()
	return bases
}

// regions are the files of what is said differently in a region.
func regions() []string {
	return slices.DeleteFunc(tags(), func(tag string) bool { return !strings.Contains(tag, "-") })
}

// verb matches one verb of a format string, with its explicit index if any.
var verb = regexp.MustCompile(`%(?:\[(\d+)\])?([a-zA-Z%])`)

// verbs returns the kinds of a format's arguments by their places: {1: d, 2: s}.
func verbs(format string) map[int]string {
	out := map[int]string{}
	next := 1
	for _, m := range verb.FindAllStringSubmatch(format, -1) {
		if m[2] == "%" {
			continue
		}
		if m[1] != "" {
			fmt.Sscan(m[1], &next)
		}
		out[next] = m[2]
		next++
	}
	return out
}

// Every language has every text, with arguments of the same kinds.
func TestEveryLanguageHasEveryText(t *testing.T) {
	english := tongues[fallback]()
	for _, tag := range whole() {
		l := tongues[tag]()
		for key, e := range english.texts {
			got, ok := l.texts[key]
			switch {
			case !ok:
				t.Errorf("%s.toml has no %s: %q", tag, key, e.other)
			case strings.TrimSpace(got.other) == "":
				t.Errorf("%s.toml: %s says nothing", tag, key)
			case !maps.Equal(verbs(got.other), verbs(e.other)):
				t.Errorf("%s.toml: %s takes %v, %s.toml %v", tag, key, verbs(got.other), fallback, verbs(e.other))
			}
		}
		for key := range l.texts {
			if _, ok := english.texts[key]; !ok {
				t.Errorf("%s.toml: %s is not in %s.toml", tag, key, fallback)
			}
		}
	}
	for _, tag := range regions() {
		for key, e := range tongues[tag]().texts {
			if base := english.texts[key]; !maps.Equal(verbs(e.other), verbs(base.other)) {
				t.Errorf("%s.toml: %s takes %v, %s.toml %v", tag, key, verbs(e.other), fallback, verbs(base.other))
			}
		}
	}
}

// A translator finds the same text at the same place in every file.
func TestFilesHaveOneOrder(t *testing.T) {
	order := map[string][]string{}
	for _, tag := range whole() {
		var any map[string]any
		file, err := toml.DecodeFS(files, tag+".toml", &any)
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range file.Keys() {
			key := k.String()
			if at := strings.LastIndexByte(key, '.'); at >= 0 && pluralForms[key[at+1:]] != 0 {
				continue // languages differ in their forms
			}
			order[tag] = append(order[tag], key)
		}
	}
	for _, tag := range whole() {
		for i := range min(len(order[tag]), len(order[fallback])) {
			if order[tag][i] != order[fallback][i] {
				t.Errorf("%s.toml has %s where %s.toml has %s", tag, order[tag][i], fallback, order[fallback][i])
				break
			}
		}
	}
}

// A text with plural forms has those that CLDR asks for in its language, and
// the number is among its arguments.
func TestPluralsAreThoseOfTheLanguage(t *testing.T) {
	for _, tag := range whole() {
		l := tongues[tag]()
		asked := map[plural.Form]bool{}
		for n := range 1000 {
			asked[plural.Cardinal.MatchPlural(l.tag, n, 0, 0, 0, 0)] = true
		}
		for key, e := range l.texts {
			if e.forms == nil {
				continue
			}
			if takes := verbs(e.other); !slices.Contains(slices.Collect(maps.Values(takes)), "d") && takes[1] != "" {
				t.Errorf("%s.toml: %s has forms for a number and takes none; a number that is not said is the first argument, left out", tag, key)
			}
			for form := range asked {
				if _, ok := e.forms[form]; !ok {
					t.Errorf("%s.toml: %s lacks the form %v of CLDR", tag, key, form)
				}
			}
			for form := range e.forms {
				if !asked[form] {
					t.Errorf("%s.toml: %s has the form %v, which no whole number takes", tag, key, form)
				}
			}
		}
	}
}

// Every text can be said with every number, and leaves no hole.
func TestEveryTextCanBeSaid(t *testing.T) {
	for _, tag := range tags() {
		s := In(tag, "")
		for key, e := range s.tongue().texts {
			takes := verbs(e.other)
			for _, n := range []int{0, 1, 2, 5, 21} {
				args := []any{}
				for at := range slices.Max(append(slices.Collect(maps.Keys(takes)), 0)) {
					switch kind := takes[at+1]; {
					case kind == "s":
						args = append(args, "X")
					case kind == "d", e.forms != nil && at == 0:
						args = append(args, n)
					default:
						t.Fatalf("%s.toml: %s skips argument %d: %v", tag, key, at+1, takes)
					}
				}
				if got := s.Say(key, args...); got == "" || got == key || strings.Contains(got, "%") && !strings.Contains(e.other, "%%") {
					t.Errorf("%s.toml: %s is said as %q", tag, key, got)
				}
			}
		}
	}
}

// What differs in a region does differ there, and nothing of the other word is
// left.
func TestRegionsReplaceWhatTheyName(t *testing.T) {
	for _, tag := range regions() {
		l := tongues[tag]()
		said := fmt.Sprint(tongues[fallback]().texts)
		for _, pair := range l.Instead {
			if !strings.Contains(strings.ToLower(said), strings.ToLower(pair[0])) {
				t.Errorf("%s.toml replaces %q, which nothing says", tag, pair[0])
			}
			for key, e := range l.texts {
				if strings.Contains(e.other, pair[0]) {
					t.Errorf("%s.toml: %s says %q", tag, key, e.other)
				}
			}
		}
	}
}
