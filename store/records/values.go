package records

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"pryday/scheduler"
)

// Lengths in characters.
const (
	maxName = 200
	maxNote = 4000
)

const nameAllowed = "a name of 1 to 200 characters, without control characters"

// name reads a text that names something, in any script.
func (r *reader) name(n *node) string {
	if !r.isKind(n, isString, nameAllowed) {
		return ""
	}
	if why := textProblem(n.text, maxName, ""); why != "" {
		r.bad(n, why, nameAllowed)
		return ""
	}
	if strings.TrimSpace(n.text) == "" {
		r.bad(n, "is blank", nameAllowed)
		return ""
	}
	return n.text
}

// words reads a text that may be empty and may have several lines.
func (r *reader) words(n *node) string {
	const allowed = "a text of at most 4000 characters; line breaks and tabs, but no other control characters"
	if !r.isKind(n, isString, allowed) {
		return ""
	}
	if why := textProblem(n.text, maxNote, "\n\r\t"); why != "" {
		r.bad(n, why, allowed)
		return ""
	}
	return n.text
}

// textProblem says what is wrong with a text, or nothing.
func textProblem(s string, most int, controls string) string {
	count := 0
	for _, c := range s {
		count++
		switch {
		case c == utf8.RuneError:
			return "has a character that could not be read (U+FFFD)"
		case unicode.IsControl(c) && !strings.ContainsRune(controls, c):
			return fmt.Sprintf("has the control character U+%04X", c)
		}
	}
	if count > most {
		return fmt.Sprintf("has %d characters", count)
	}
	return ""
}

func (r *reader) truth(n *node) bool {
	return r.isKind(n, isBool, "true or false") && n.text == "true"
}

// number reads a number from least to most, both allowed.
func (r *reader) number(n *node, least, most float64, unit string) float64 {
	allowed := strings.TrimSpace(fmt.Sprintf("a number from %s to %s %s", short(least), short(most), unit))
	if !r.isKind(n, isNumber, allowed) {
		return 0
	}
	v, err := strconv.ParseFloat(n.text, 64)
	if err != nil || math.IsInf(v, 0) || v < least || v > most {
		r.bad(n, "is out of range", allowed)
		return 0
	}
	return v
}

// whole reads a whole number from least to most, both allowed.
func (r *reader) whole(n *node, least, most int, unit string) int {
	allowed := strings.TrimSpace(fmt.Sprintf("a whole number from %d to %d %s", least, most, unit))
	if !r.isKind(n, isNumber, allowed) {
		return 0
	}
	v, err := strconv.Atoi(n.text)
	if err != nil {
		why := "is not a whole number"
		if !strings.ContainsAny(n.text, ".eE") {
			why = "is out of range"
		}
		r.bad(n, why, allowed)
		return 0
	}
	if v < least || v > most {
		r.bad(n, "is out of range", allowed)
		return 0
	}
	return v
}

// date reads a day written as 2027-05-31.
func (r *reader) date(n *node) scheduler.Date {
	allowed := fmt.Sprintf("a day such as 2027-05-31, from %s to %s", scheduler.MinDate, scheduler.MaxDate)
	if !r.isKind(n, isString, allowed) {
		return 0
	}
	d, err := scheduler.ParseDate(n.text)
	if err != nil {
		r.bad(n, "is not a day in range", allowed)
		return 0
	}
	return d
}

func (r *reader) dates(n *node) []scheduler.Date {
	var out []scheduler.Date
	for _, item := range r.list(n, "days") {
		out = append(out, r.date(item))
	}
	return out
}

// clock reads a local time of day written as 07:00.
func (r *reader) clock(n *node) scheduler.ClockTime {
	const allowed = "a time of day such as 07:00, from 00:00 to 23:59"
	if !r.isKind(n, isString, allowed) {
		return 0
	}
	c, err := scheduler.ParseClockTime(n.text)
	if err != nil {
		r.bad(n, "is not a time of day", allowed)
	}
	return c
}

// choice reads one of a few words.
func choice[T ~string](r *reader, n *node, allowed []T) T {
	list := joinWords(allowed)
	if !r.isKind(n, isString, list) {
		return ""
	}
	for _, a := range allowed {
		if n.text == string(a) {
			return a
		}
	}
	r.bad(n, "", list)
	return ""
}

func joinWords[T ~string](words []T) string {
	parts := make([]string, len(words))
	for i, w := range words {
		parts[i] = string(w)
	}
	return strings.Join(parts, ", ")
}

func short(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
