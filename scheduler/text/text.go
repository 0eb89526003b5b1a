package text

import "time"

// Text is a sentence that can be said in any language and in any units: the
// key of a format string and what goes into it. Args are strings, ints,
// Days, Lengths, Kilograms, Celsius, Difficulties, Conditions, GapPlaces, Verdicts,
// Stages, Parts, and other Texts or slices of Texts. Strings are names and
// notes that people entered; they are never translated.
type Text struct {
	Key  string
	Args []any
}

// text makes a Text.
func New(key string, args ...any) Text { return Text{Key: key, Args: args} }

// IsZero reports whether t says nothing.
func (t Text) IsZero() bool { return t.Key == "" }

// String says t in English and in millimetres.
func (t Text) String() string { return Speaker{}.Say(t) }

// Length is a length in millimetres, said in the units of whoever reads it.
type Length float64

// Kilograms is a weight, said with pounds beside it to readers of inches.
type Kilograms float64

// Celsius is a temperature, said in Fahrenheit to readers of inches.
type Celsius float64

// worded is a noun of a closed list that has a word of its own in every
// language, found under its WordKey: Difficulty, Condition, Verdict and so on.
type worded interface{ WordKey() string }

// Day is a civil day, said as the reader's language writes days.
type Day interface {
	Civil() (year int, month time.Month, day int)
	Weekday() time.Weekday
	Format(layout string) string
}
