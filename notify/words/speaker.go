// Package words holds every text that mail and calendars carry, in every
// language, and the few rules of each language for days, lists and measures.
package words

import (
	"fmt"
	"strings"

	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/message/catalog"

	"pryday/scheduler"
	"pryday/scheduler/advice"
	"pryday/scheduler/text"
)

// Languages are the languages that every phrase exists in, the default first.
var Languages = []language.Tag{language.English, language.German}

// forms are one phrase in one language. Where other is set, one is the form for
// a number of one and other that for every other number; the number is the
// phrase's first argument.
type forms struct{ one, other string }

// phrase is one phrase in all languages.
type phrase struct{ en, de forms }

func (p phrase) in(tag language.Tag) forms {
	if tag == language.German {
		return p.de
	}
	return p.en
}

var (
	matcher = language.NewMatcher(Languages)
	printed = buildCatalog()
)

func buildCatalog() catalog.Catalog {
	b := catalog.NewBuilder(catalog.Fallback(Languages[0]))
	for key, p := range phrases {
		for _, tag := range Languages {
			t := p.in(tag)
			var err error
			if t.other == "" {
				err = b.SetString(tag, key, t.one)
			} else {
				err = b.Set(tag, key, plural.Selectf(1, "%d", plural.One, t.one, plural.Other, t.other))
			}
			if err != nil {
				panic(fmt.Sprintf("phrase %q in %s: %v", key, tag, err)) // a test renders every phrase
			}
		}
	}
	return b
}

// Speaker says phrases in one language.
type Speaker struct {
	tag     language.Tag
	printer *message.Printer
	trade   text.Speaker
}

// In returns a speaker of the language closest to a BCP 47 tag, in a member's
// units; an empty or unknown tag gives English.
func In(lang string, units text.Units) *Speaker {
	want, err := language.Parse(lang)
	if err != nil {
		want = Languages[0]
	}
	_, i, _ := matcher.Match(want)
	s := &Speaker{tag: Languages[i], printer: message.NewPrinter(Languages[i], message.Catalog(printed))}
	s.trade = text.Speaker{Day: s.PlainDay, Length: s.Length, Units: units}
	s.trade.Format = regional(want)
	if s.tag == language.German {
		s.trade.Format = func(key string) string { return tradeGerman[key] }
	}
	return s
}

// Tell says a text of the scheduler.
func (s *Speaker) Tell(t text.Text) string { return s.trade.Say(t) }

// Args says what goes into a text of the scheduler.
func (s *Speaker) Args(t text.Text) []any { return s.trade.Args(t) }

// Word says a word of one of the scheduler's closed lists, by its key.
func (s *Speaker) Word(key string) string { return s.trade.Say(text.Text{Key: key}) }

// Weather says in what weather a hive may be opened.
func (s *Speaker) Weather() string {
	degrees := s.trade.Args(text.Text{Args: []any{text.Celsius(advice.LidAboveC), text.Celsius(advice.FramesAboveC)}})
	return s.Say("weather.opening", degrees...)
}

// Length writes millimetres in the member's units.
func (s *Speaker) Length(mm float64) string {
	out := text.FormatLength(mm, s.trade.Units)
	if s.tag == language.German {
		out = strings.Replace(out, ".", ",", 1)
	}
	return out
}

// Language returns the BCP 47 tag of what the speaker speaks.
func (s *Speaker) Language() string { return s.tag.String() }

// Say returns a phrase with its arguments filled in. A key that does not
// exist panics: it is a mistake in the program.
func (s *Speaker) Say(key string, args ...any) string {
	p, ok := phrases[key]
	if !ok {
		panic("no phrase " + key)
	}
	// The printer takes its time, and only plurals need it.
	switch t := p.in(s.tag); {
	case len(args) == 0:
		return t.one
	case t.other == "":
		return fmt.Sprintf(t.one, args...)
	}
	return s.printer.Sprintf(message.Key(key, key), args...)
}

// Has reports whether there is such a phrase.
func Has(key string) bool { _, ok := phrases[key]; return ok }

// Day writes a day in full, with its weekday.
func (s *Speaker) Day(d scheduler.Date) string {
	y, m, day := d.Civil()
	weekday, month := s.Say("weekday."+d.Weekday().String()), s.Say("month."+m.String())
	return s.Say("day", weekday, day, month, fmt.Sprint(y))
}

// ShortDay writes a day without its year.
func (s *Speaker) ShortDay(d scheduler.Date) string {
	_, m, day := d.Civil()
	return s.Say("day.short", s.Say("weekday."+d.Weekday().String()), day, s.Say("month."+m.String()))
}

// PlainDay writes a day without its weekday.
func (s *Speaker) PlainDay(d text.Day) string {
	y, m, day := d.Civil()
	return s.Say("day.plain", day, s.Say("month."+m.String()), fmt.Sprint(y))
}

// List joins items as a sentence does.
func (s *Speaker) List(items []string) string {
	switch n := len(items); n {
	case 0:
		return ""
	case 1:
		return items[0]
	default:
		return strings.Join(items[:n-1], ", ") + " " + s.Say("and") + " " + items[n-1]
	}
}

// Kind names a kind of box: a built-in one in the language, any other as the
// club wrote it.
func (s *Speaker) Kind(name string) string {
	if key := "kind." + name; Has(key) {
		return s.Say(key)
	}
	return name
}

// Parts lists parts to bring beside the usual tools.
func (s *Speaker) Parts(needs []advice.PartNeed) string {
	var out []string
	for _, need := range needs {
		if need.Part == advice.PartTub {
			continue // among the usual tools
		}
		part := s.Word(need.Part.WordKey())
		if need.Count > 1 {
			part = s.Say("bring.count", need.Count, part)
		}
		out = append(out, part)
	}
	return strings.Join(out, ", ")
}

// Reason says why a box is due; empty for a reason that is not known, as on
// visits of the past that came in without one.
func (s *Speaker) Reason(r scheduler.Reason) string {
	if key := "reason." + string(r); Has(key) {
		return s.Say(key)
	}
	return ""
}
