package text

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Speaker says texts in one language, in one reader's units. The zero Speaker
// speaks English in millimetres. It is safe for use by many at once.
type Speaker struct {
	lang  *tongue
	units Units
	terse bool // shortens the days of PlainDay
	year  int  // that a terse speaker leaves out; 0: none
}

// Say says the text with a key. What args may be stands at Text; where a text
// has plural forms, the first whole number among them chooses. A key that no
// file holds is said as the key itself, so that it shows and hides nothing.
func (s *Speaker) Say(key string, args ...any) string {
	return fill(s.format(key, args), s.words(args))
}

// format returns the format string of a key, in the plural form that the
// arguments ask for.
func (s *Speaker) format(key string, args []any) string {
	t := s.tongue()
	e, ok := t.texts[key]
	if !ok {
		if e, ok = tongues[fallback]().texts[key]; !ok {
			return strings.ReplaceAll(key, "%", "%%")
		}
	}
	if e.forms != nil {
		for _, a := range args {
			if n, whole := a.(int); whole {
				return e.in(t.tag, n)
			}
		}
	}
	return e.other
}

// fill puts words into a format string. A word that ends a sentence itself, as
// a note may, gets no second stop.
func fill(format string, words []any) string {
	if !strings.Contains(format, "%") {
		return format
	}
	if ended := markEnds(words); ended != nil {
		return unmarkEnds.Replace(fmt.Sprintf(format, ended...))
	}
	return fmt.Sprintf(format, words...)
}

const wordEnds = "\x04" // behind a word that ends a sentence, while it goes into a text

var unmarkEnds = strings.NewReplacer(wordEnds+".", "", wordEnds, "")

// markEnds returns the words with marks behind those that end a sentence; nil
// where none does.
func markEnds(words []any) (marked []any) {
	for i, w := range words {
		if said, ok := w.(string); ok && EndsSentence(said) {
			if marked == nil {
				marked = slices.Clone(words)
			}
			marked[i] = said + wordEnds
		}
	}
	return marked
}

// EndsSentence reports whether a text ends with a stop of its own.
func EndsSentence(said string) bool {
	end, _ := utf8.DecodeLastRuneInString(said)
	return strings.ContainsRune(".!?…", end)
}

// Forms returns the plural forms of a text by their names in CLDR, for a program
// that counts where nobody asks the Speaker.
func (s *Speaker) Forms(key string) map[string]string {
	out := map[string]string{}
	e := s.tongue().texts[key]
	for name, form := range pluralForms {
		if f, ok := e.forms[form]; ok {
			out[name] = f
		}
	}
	return out
}

// Tell says a Text; nothing for the zero Text.
func (s *Speaker) Tell(t Text) string {
	if t.Key == "" {
		return ""
	}
	return s.Say(t.Key, t.Args...)
}

// Word says the word of a noun of a closed list.
func (s *Speaker) Word(w Worded) string { return s.Say(w.WordKey()) }

// Has reports whether there is a text with a key.
func Has(key string) bool {
	_, ok := tongues[fallback]().texts[key]
	return ok
}

// Args says what goes into a text, one by one. Whole numbers stay numbers.
func (s *Speaker) Args(t Text) []any { return s.words(t.Args) }

func (s *Speaker) words(args []any) []any {
	if len(args) == 0 {
		return nil
	}
	out := make([]any, len(args))
	for i, a := range args {
		out[i] = s.word(a)
	}
	return out
}

func (s *Speaker) word(a any) any {
	switch a := a.(type) {
	case string, int:
		return a
	case Text:
		return s.Tell(a)
	case []Text:
		return s.Enumerate(a)
	case Sentences:
		said := make([]string, len(a))
		for i, t := range a {
			said[i] = s.Tell(t)
		}
		return strings.Join(said, " ")
	case Lines:
		said := make([]string, len(a))
		for i, t := range a {
			said[i] = s.Tell(t)
		}
		return strings.Join(said, "\n  ")
	case []string:
		return s.List(a)
	case dayAs:
		return a.say(s, a.day)
	case Day:
		return s.PlainDay(a)
	case Length:
		return s.Length(float64(a))
	case Kilograms:
		return s.weight(float64(a))
	case Celsius:
		return s.degrees(float64(a))
	case Chance:
		return s.Chance(float64(a))
	case Kind:
		return s.Kind(string(a))
	case Hive:
		return s.Hive(string(a))
	case Number:
		return s.Number(a.Value, a.Decimals)
	case Worded:
		return s.Word(a)
	}
	return a
}

// Language returns the BCP 47 tag of what the speaker speaks, without a region.
func (s *Speaker) Language() string {
	base, _ := s.tongue().tag.Base()
	return base.String()
}

// Units returns the units of whoever is spoken to.
func (s *Speaker) Units() Units { return s.units }

// List joins names as a sentence does: A, B and C.
func (s *Speaker) List(items []string) string {
	n := len(items)
	if n < 2 {
		return strings.Join(items, "")
	}
	t := s.tongue()
	return strings.Join(items[:n-1], t.Comma) + t.And + items[n-1]
}

// Enumerate says texts one after the other, with commas.
func (s *Speaker) Enumerate(texts []Text) string {
	said := make([]string, len(texts))
	for i, t := range texts {
		said[i] = s.Tell(t)
	}
	return strings.Join(said, s.tongue().Comma)
}

// Kind names a kind of box: a built-in one in the language, any other as the
// club wrote it.
func (s *Speaker) Kind(name string) string {
	if key := "kind." + name; Has(key) {
		return s.Say(key)
	}
	return name
}

// Hive names a hive: "Larch", but "Hive 7" where its name is "7" or "7a".
func (s *Speaker) Hive(name string) string {
	if name != "" && len(name) <= 4 && name[0] >= '0' && name[0] <= '9' {
		return s.Say("numbered.hive", name)
	}
	return name
}

// Length writes millimetres in the reader's units.
func (s *Speaker) Length(mm float64) string { return s.decimals(FormatLength(mm, s.units)) }

// Number writes a number with a fixed count of decimals.
func (s *Speaker) Number(v float64, decimals int) string {
	return s.decimals(strconv.FormatFloat(v, 'f', decimals, 64))
}

func (s *Speaker) decimals(number string) string {
	return strings.Replace(number, ".", s.tongue().Decimal, 1)
}

func (s *Speaker) weight(kg float64) string {
	if s.units == Inches {
		return fmt.Sprintf("%.0f lb (%.0f kg)", kg*poundsPerKg, kg)
	}
	return fmt.Sprintf("%.0f kg", kg)
}

func (s *Speaker) degrees(celsius float64) string {
	if s.units == Inches {
		return fmt.Sprintf("%.0f °F", celsius*9/5+32)
	}
	return fmt.Sprintf("%.0f °C", celsius)
}

func (s *Speaker) tongue() *tongue {
	if s.lang == nil {
		return tongues[fallback]()
	}
	return s.lang
}
