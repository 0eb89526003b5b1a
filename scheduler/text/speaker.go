package text

import (
	"fmt"
	"maps"
	"slices"
)

// Speaker says Texts in one language, in one member's units. The zero Speaker
// speaks English in millimetres.
type Speaker struct {
	Format func(key string) string // the language's format string, "" to fall back on English; nil: English
	Day    func(Day) string        // how a day is written; nil: 12 Jun 2027
	Length func(mm float64) string // how a length is written; nil: FormatLength in Units
	Units  Units
}

// Say returns t in words. A key that no table holds is said as the key
// itself, so that a missing line shows and hides nothing.
func (s Speaker) Say(t Text) string {
	if t.Key == "" {
		return ""
	}
	format := s.format(t.Key)
	if format == "" {
		return t.Key
	}
	return fmt.Sprintf(format, s.Args(t)...)
}

// Args returns t's arguments in words: what a format string, or a printer of
// another kind, is to be given. Ints stay ints, for plurals.
func (s Speaker) Args(t Text) []any {
	out := make([]any, len(t.Args))
	for i, a := range t.Args {
		out[i] = s.arg(a)
	}
	return out
}

func (s Speaker) arg(a any) any {
	switch a := a.(type) {
	case Text:
		return s.Say(a)
	case []Text:
		list := ""
		for i, t := range a {
			if i > 0 {
				list += s.format("list.comma")
			}
			list += s.Say(t)
		}
		return list
	case Day:
		if s.Day != nil {
			return s.Day(a)
		}
		return a.Format("2 Jan 2006")
	case Length:
		if s.Length != nil {
			return s.Length(float64(a))
		}
		return FormatLength(float64(a), s.Units)
	case Kilograms:
		if s.Units == Inches {
			return fmt.Sprintf("%.0f lb (%.0f kg)", float64(a)*poundsPerKg, float64(a))
		}
		return fmt.Sprintf("%.0f kg", float64(a))
	case Celsius:
		if s.Units == Inches {
			return fmt.Sprintf("%.0f °F", float64(a)*9/5+32)
		}
		return fmt.Sprintf("%.0f °C", float64(a))
	case worded:
		return s.Say(Text{Key: a.WordKey()})
	}
	return a
}

func (s Speaker) format(key string) string {
	if s.Format != nil {
		if f := s.Format(key); f != "" {
			return f
		}
	}
	return english[key]
}

// English returns the English format string of a key, or the empty string.
func English(key string) string { return english[key] }

// TextKeys returns every key that has an English format string, in order:
// what a translation has to hold.
func TextKeys() []string { return slices.Sorted(maps.Keys(english)) }

// english holds every format string, from the tables that stand beside the
// steps that use them.
var english = join(wordsEnglish, checklistEnglish, gapEnglish, partEnglish, cautionEnglish, liftEnglish, explainEnglish)

func join(tables ...map[string]string) map[string]string {
	all := map[string]string{}
	for _, t := range tables {
		for k, v := range t {
			if _, twice := all[k]; twice {
				panic("two texts have the key " + k)
			}
			all[k] = v
		}
	}
	return all
}
