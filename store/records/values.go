package records

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// Lengths in characters.
const (
	maxName = 200
	maxNote = 4000
)

var nameAllowed = text.New("records.allow.name")

// phone reads a phone number as people write one.
func (r *reader) phone(n *node) string {
	allowed := text.New("records.allow.phone", scheduler.MaxPhone)
	if r.isKind(n, isString, allowed) && !scheduler.IsPhone(n.text) {
		r.bad(n, "records.why.phone", allowed)
		return ""
	}
	return n.text
}

// name reads a text that names something, in any script.
func (r *reader) name(n *node) string {
	if !r.isKind(n, isString, nameAllowed) {
		return ""
	}
	if why, args := textProblem(n.text, maxName, false); why != "" {
		r.bad(n, why, nameAllowed, args...)
		return ""
	}
	if scheduler.Invisible(n.text) {
		r.bad(n, "records.why.blank", nameAllowed)
		return ""
	}
	return n.text
}

// words reads a text that may be empty and may have several lines.
func (r *reader) words(n *node) string {
	allowed := text.New("records.allow.words")
	if !r.isKind(n, isString, allowed) {
		return ""
	}
	if why, args := textProblem(n.text, maxNote, true); why != "" {
		r.bad(n, why, allowed, args...)
		return ""
	}
	return n.text
}

// textProblem says what is wrong with a text, by the key of a text and what
// follows the value in it; an empty key for nothing. A note may have lines.
func textProblem(s string, most int, lines bool) (why string, args []any) {
	r, found := scheduler.Unwritable(s, lines)
	count := utf8.RuneCountInString(s)
	switch {
	case strings.ContainsRune(s, utf8.RuneError):
		return "records.why.unreadable", nil
	case found:
		return "records.why.control", []any{fmt.Sprintf("U+%04X", r)}
	case count > most:
		return "records.why.long", []any{count}
	}
	return "", nil
}

func (r *reader) truth(n *node) bool {
	return r.isKind(n, isBool, text.New("allowed.truth")) && n.text == "true"
}

// numberAllowed says which numbers are allowed; unit is the key of a unit, or
// empty.
func numberAllowed(least, most float64, unit string) text.Text {
	if unit == "" {
		return text.New("records.allow.number", short(least), short(most))
	}
	return text.New("records.allow.number-unit", short(least), short(most), text.New("unit."+unit))
}

// number reads a number from least to most, both allowed.
func (r *reader) number(n *node, least, most float64, unit string) float64 {
	allowed := numberAllowed(least, most, unit)
	if !r.isKind(n, isNumber, allowed) {
		return 0
	}
	v, err := strconv.ParseFloat(n.text, 64)
	if err != nil || math.IsInf(v, 0) || v < least || v > most {
		r.bad(n, "records.why.range", allowed)
		return 0
	}
	return v
}

func wholeAllowed(least, most int, unit string) text.Text {
	if unit == "" {
		return text.New("records.allow.whole", least, most)
	}
	return text.New("records.allow.whole-unit", least, most, text.New("unit."+unit))
}

// whole reads a whole number from least to most, both allowed.
func (r *reader) whole(n *node, least, most int, unit string) int {
	allowed := wholeAllowed(least, most, unit)
	if !r.isKind(n, isNumber, allowed) {
		return 0
	}
	v, err := strconv.Atoi(n.text)
	if err != nil {
		why := "records.why.not-whole"
		if !strings.ContainsAny(n.text, ".eE") {
			why = "records.why.range"
		}
		r.bad(n, why, allowed)
		return 0
	}
	if v < least || v > most {
		r.bad(n, "records.why.range", allowed)
		return 0
	}
	return v
}

var dayAllowed = text.New("records.allow.day", scheduler.MinDate.String(), scheduler.MaxDate.String())

// date reads a day written as 2027-05-31.
func (r *reader) date(n *node) scheduler.Date {
	allowed := dayAllowed
	if !r.isKind(n, isString, allowed) {
		return 0
	}
	d, err := scheduler.ParseDate(n.text)
	if err != nil {
		r.bad(n, "records.why.not-a-day", allowed)
		return 0
	}
	return d
}

func (r *reader) dates(n *node) []scheduler.Date {
	var out []scheduler.Date
	for _, item := range r.list(n, text.New("records.allow.list-days")) {
		out = append(out, r.date(item))
	}
	return out
}

var clockAllowed = text.New("records.allow.clock")

// clock reads a local time of day written as 07:00.
func (r *reader) clock(n *node) scheduler.ClockTime {
	if !r.isKind(n, isString, clockAllowed) {
		return 0
	}
	c, err := scheduler.ParseClockTime(n.text)
	if err != nil {
		r.bad(n, "records.why.not-a-time", clockAllowed)
	}
	return c
}

// choice reads one of a few words.
func choice[T ~string](r *reader, n *node, allowed []T) T {
	list := oneOf(allowed)
	if !r.isKind(n, isString, list) {
		return ""
	}
	for _, a := range allowed {
		if n.text == string(a) {
			return a
		}
	}
	r.bad(n, "records.why.not-allowed", list)
	return ""
}

// oneOf says that one of a few words is allowed.
func oneOf[T ~string](words []T) text.Text {
	return text.New("records.allow.these", joinWords(words))
}

func joinWords[T ~string](words []T) string {
	parts := make([]string, len(words))
	for i, w := range words {
		parts[i] = string(w)
	}
	return strings.Join(parts, ", ")
}

func short(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
