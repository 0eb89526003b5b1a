package scheduler

import (
	"fmt"
	"maps"
	"slices"
)

// Text is a sentence that can be said in any language and in any units: the
// key of a format string and what goes into it. Args are strings, ints,
// Dates, Lengths, Kilograms, Celsius, Difficulties, Conditions, GapPlaces, Verdicts,
// Stages, Parts, and other Texts or slices of Texts. Strings are names and
// notes that people entered; they are never translated.
type Text struct {
	Key  string
	Args []any
}

// text makes a Text.
func text(key string, args ...any) Text { return Text{Key: key, Args: args} }

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

// WordKey returns the key of the word for a difficulty: "difficulty.3".
func (d Difficulty) WordKey() string { return fmt.Sprintf("difficulty.%d", d) }

// WordKey returns the key of the word for a condition: "condition.warped".
func (c Condition) WordKey() string { return "condition." + string(c) }

// WordKey returns the key of the word for a place of gaps: "gap.above-frames".
func (p GapPlace) WordKey() string { return "gap." + string(p) }

// WordKey returns the key of the word for a peg's answer: "peg.thin-goes".
func (p Peg) WordKey() string { return "peg." + string(p) }

// WordKey returns the key of the word for a stage: "stage.late-summer".
func (s Stage) WordKey() string { return "stage." + s.String() }

// WordKey returns the key of the word for how much was scraped: "scraped.all".
func (s Scraped) WordKey() string {
	if s == "" {
		s = ScrapedNone
	}
	return "scraped." + string(s)
}

// Speaker says Texts in one language, in one member's units. The zero Speaker
// speaks English in millimetres.
type Speaker struct {
	Format func(key string) string // the language's format string, "" to fall back on English; nil: English
	Date   func(Date) string       // how a day is written; nil: 12 Jun 2027
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
	case Date:
		if s.Date != nil {
			return s.Date(a)
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

// wordsEnglish are the words of the closed lists.
var wordsEnglish = map[string]string{
	"list.comma": ", ",

	"difficulty.-1": "not tried",
	"difficulty.0":  "loose",
	"difficulty.1":  "light",
	"difficulty.2":  "firm",
	"difficulty.3":  "hard",
	"difficulty.4":  "stuck",

	// What the hand felt, as the two questions after an opening ask it.
	"joint.0":   "came up by hand",
	"joint.1":   "one corner, one twist of the hive tool",
	"joint.2":   "two to four corners, once round",
	"joint.3":   "more than once round, or two people",
	"joint.4":   "left shut, or broke by glue",
	"frames.-1": "no frame tried",
	"frames.0":  "slid with fingers",
	"frames.1":  "tool at one end",
	"frames.2":  "tool at both ends",
	"frames.3":  "cut free at the sides",
	"frames.4":  "would not come, or broke by glue",

	"scraped.all":  "all",
	"scraped.part": "part",
	"scraped.none": "none",

	"stage.build-up":    "build-up",
	"stage.flow":        "flow",
	"stage.late-summer": "late summer",
	"stage.autumn":      "autumn",
	"stage.winter":      "winter",

	"gap.above-frames":   "above the frames",
	"gap.between-frames": "between frames",
	"gap.end-bar-to-box": "end bar to box",
	"gap.frame-to-wall":  "outer frame to wall",
	"gap.between-boxes":  "between stacked boxes",
	"gap.below-frames":   "below the lowest frames",
	"gap.entrance":       "entrance",
	"gap.frame-lug":      "frame lug in its rest",

	"peg.thin-wont-go": "the thin peg won't go",
	"peg.thin-goes":    "the thin peg goes, the thick one won't",
	"peg.thick-goes":   "the thick peg goes",

	"condition.warped":        "warped",
	"condition.cracked":       "cracked",
	"condition.rot":           "rot",
	"condition.corner-loose":  "corner loose",
	"condition.rest-worn":     "frame rest worn or bent",
	"condition.lug-broken":    "frame lug broken",
	"condition.frame-broken":  "frame broken",
	"condition.frame-missing": "frame missing",
	"condition.comb-damaged":  "comb damaged",
	"condition.wax-moth":      "wax moth",
	"condition.hive-beetle":   "hive beetle",
	"condition.lid-damaged":   "lid or inner cover damaged",
	"condition.floor-damaged": "floor damaged",
	"condition.excluder-bent": "excluder bent",
	"condition.mixed-makers":  "parts of two makers mixed",
	"condition.brood-suspect": "brood looks wrong",
}

// Conditions lists every condition, in the order in which forms ask.
var Conditions = []Condition{
	Warped, Cracked, Rot, CornerLoose, RestWorn, LugBroken, FrameBroken, FrameMissing, CombDamaged,
	MixedMakers, ExcluderBent, LidDamaged, FloorDamaged, WaxMoth, HiveBeetle, BroodSuspect,
}

// GapPlaces lists every place of gaps, from the top of a box down.
var GapPlaces = []GapPlace{
	AboveFrames, BetweenFrames, FrameLug, EndBarToBox, FrameToWall, BetweenBoxes, BelowFrames, Entrance,
}

// JointWords returns the words for how hard a joint was to open.
func JointWords(d Difficulty) Text { return text(fmt.Sprintf("joint.%d", d)) }

// FramesWords returns the words for how hard the worst frame was to move.
func FramesWords(d Difficulty) Text { return text(fmt.Sprintf("frames.%d", d)) }
