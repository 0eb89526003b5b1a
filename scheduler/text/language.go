package text

import (
	"embed"
	"fmt"
	"strings"
	"sync"
	"time"

	"github.com/BurntSushi/toml"
	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
)

// files are the languages, each in a file named for its BCP 47 tag. English
// comes first: whoever asks for a language that nobody has written hears it.
//
//go:embed *.toml
var files embed.FS

// fallback is the language of whoever asks for none that there is.
const fallback = "en"

// tongue is one language or, where it has a base, what is said differently in
// some regions of one.
type tongue struct {
	grammar
	tag   language.Tag
	texts map[string]entry
}

// grammar is the [language] section of a file: how a language writes days,
// lists and numbers.
type grammar struct {
	Name    string // as those who speak it call it
	Decimal string
	Comma   string // between the items of a list
	And     string // before the last of them

	Day           string
	DayShort      string       `toml:"day-short"`
	DayPlain      string       `toml:"day-plain"`
	DayOfYear     string       `toml:"day-of-year"`
	DayTerse      string       `toml:"day-terse"`
	DayTerseNear  string       `toml:"day-terse-this-year"` // without its year
	FirstWeekday  time.Weekday `toml:"first-weekday"`       // 0 is Sunday
	Weekdays      [7]string
	WeekdaysShort [7]string `toml:"weekdays-short"`
	Months        [12]string
	MonthsShort   [12]string `toml:"months-short"`

	Regions []string    // of a regional file: where its words are used
	Instead [][2]string // of a regional file: words, and those to say in their place
}

// entry is one text. Of a text with plural forms, other stands for every
// number without a form of its own.
type entry struct {
	other string
	forms map[plural.Form]string // nil where the text has one form
}

// pluralForms are the names that CLDR gives to the forms.
var pluralForms = map[string]plural.Form{
	"zero": plural.Zero, "one": plural.One, "two": plural.Two, "few": plural.Few, "many": plural.Many, "other": plural.Other,
}

// in chooses the form for a number.
func (e entry) in(tag language.Tag, n int) string {
	if n < 0 {
		n = -n
	}
	if form, ok := e.forms[plural.Cardinal.MatchPlural(tag, n%10_000_000, 0, 0, 0, 0)]; ok {
		return form
	}
	return e.other
}

// tongues reads each file once, when somebody speaks it first.
var tongues = map[string]func() *tongue{}

func init() {
	for _, tag := range tags() {
		tongues[tag] = sync.OnceValue(func() *tongue {
			t, err := readTongue(tag)
			if err != nil {
				panic(err) // the files are part of the program, and a test reads each
			}
			return t
		})
	}
}

// tags lists the tags of the files, the fallback first.
func tags() []string {
	list, err := files.ReadDir(".")
	if err != nil {
		panic(err)
	}
	out := []string{fallback}
	for _, f := range list {
		if tag := strings.TrimSuffix(f.Name(), ".toml"); tag != fallback {
			out = append(out, tag)
		}
	}
	return out
}

// readTongue reads a file, and lays that of a region over its language's.
func readTongue(tag string) (*tongue, error) {
	parsed, err := language.Parse(tag)
	if err != nil {
		return nil, fmt.Errorf("%s.toml: the name is not a language tag: %w", tag, err)
	}
	data, err := files.ReadFile(tag + ".toml")
	if err != nil {
		return nil, err
	}
	sections := map[string]toml.Primitive{}
	file, err := toml.Decode(string(data), &sections)
	if err != nil {
		return nil, fmt.Errorf("%s.toml: %w", tag, err)
	}
	t := &tongue{tag: parsed, texts: map[string]entry{}}
	base, _ := parsed.Base()
	regional := base.String() != tag
	if regional {
		t.grammar = tongues[base.String()]().grammar
	}
	if err := file.PrimitiveDecode(sections["language"], &t.grammar); err != nil {
		return nil, fmt.Errorf("%s.toml: [language]: %w", tag, err)
	}
	if regional {
		t.layOver(tongues[base.String()]())
	}
	delete(sections, "language")
	for name, section := range sections {
		values := map[string]any{}
		if err := file.PrimitiveDecode(section, &values); err != nil {
			return nil, fmt.Errorf("%s.toml: [%s]: %w", tag, name, err)
		}
		if err := t.read(name, values); err != nil {
			return nil, fmt.Errorf("%s.toml: %w", tag, err)
		}
	}
	return t, nil
}

// read takes the texts of a section and of those inside it.
func (t *tongue) read(section string, values map[string]any) error {
	for name, v := range values {
		key := section + "." + name
		switch v := v.(type) {
		case string:
			t.texts[key] = entry{other: v}
		case map[string]any:
			e, ok := plurals(v)
			if !ok {
				if err := t.read(key, v); err != nil {
					return err
				}
				continue
			}
			t.texts[key] = e
		default:
			return fmt.Errorf("%s is a %T; texts stand in quotes", key, v)
		}
	}
	return nil
}

// plurals reads the forms of one text; false for a section of texts.
func plurals(values map[string]any) (entry, bool) {
	e := entry{forms: map[plural.Form]string{}}
	for name, v := range values {
		form, known := pluralForms[name]
		s, isText := v.(string)
		if !known || !isText {
			return entry{}, false
		}
		e.forms[form] = s
	}
	var ok bool
	e.other, ok = e.forms[plural.Other]
	return e, ok
}
