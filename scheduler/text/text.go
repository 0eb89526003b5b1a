// Package text is the one catalogue of what people are told, in every
// language: a file of TOML for each (en.toml, de.toml), with the same keys in
// the same order, and a Speaker that says them in a language and in units.
//
// Everything else hands out keys: a Text is a key with what goes into it, and
// whoever knows the reader says it. A file named for a region (en-GB.toml)
// holds only what is said differently there.
package text

import "time"

// Text is a sentence that can be said in any language and in any units: the
// key of a format string and what goes into it. Args are names and notes that
// people entered, which are never translated, ints, the types of this package
// (Length, Kilograms, Celsius, Chance, Kind, Hive, Number, days in any form), words
// of closed lists (whatever has a WordKey), other Texts, and lists of names or
// Texts.
type Text struct {
	Key  string
	Args []any
}

// New makes a Text.
func New(key string, args ...any) Text { return Text{Key: key, Args: args} }

// IsZero reports whether t says nothing.
func (t Text) IsZero() bool { return t.Key == "" }

// Length is a length in millimetres, said in the units of whoever reads it.
type Length float64

// Kilograms is a weight, said with pounds beside it to readers of inches.
type Kilograms float64

// Celsius is a temperature, said in Fahrenheit to readers of inches.
type Celsius float64

// Chance is a probability, 0 to 1, said as people say it: "a 1 in 5 chance".
type Chance float64

// Kind is the name of a kind of box: a built-in one has a word in every
// language, any other is said as the club wrote it.
type Kind string

// Hive is the name of a hive: one that is a number alone is said with a word
// before it, or a sentence would not tell it from a count.
type Hive string

// Lines are texts said in a line each, those after the first set in.
type Lines []Text

// Sentences are whole sentences, said one after the other.
type Sentences []Text

// Number is a number with a fixed count of decimals.
type Number struct {
	Value    float64
	Decimals int
}

// Hours are hours as people say them: from ten on, tenths say nothing.
func Hours(h float64) Number {
	if h >= 10 || h == float64(int(h)) {
		return Number{Value: h}
	}
	return Number{Value: h, Decimals: 1}
}

// Worded is a noun of a closed list that has a word of its own in every
// language, found under its WordKey: Difficulty, Condition, Verdict and so on.
type Worded interface{ WordKey() string }

// Day is a civil day. Given as it is, it is said without its weekday; Full,
// Short and Weekday give it other forms.
type Day interface {
	Civil() (year int, month time.Month, day int)
	Weekday() time.Weekday
}

// dayAs is a day in one of its forms.
type dayAs struct {
	day Day
	say func(*Speaker, Day) string
}

// Full is a day with its weekday and year.
func Full(d Day) any { return dayAs{d, (*Speaker).Day} }

// Short is a day with its weekday and without its year.
func Short(d Day) any { return dayAs{d, (*Speaker).ShortDay} }

// Month is the name of a day's month.
func Month(d Day) any { return dayAs{d, (*Speaker).Month} }

// Weekday is the short name of a day's weekday.
func Weekday(d Day) any { return dayAs{d, (*Speaker).Weekday} }
