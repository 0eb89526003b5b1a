package text

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Units says how a member reads and writes gaps.
type Units string

// The units of gaps on screens and in mail.
const (
	Millimetres Units = "mm"
	Inches      Units = "in"
)

// MMPerInch is exact (international yard and pound agreement of 1959).
const MMPerInch = 25.4

// poundsPerKg: one pound is 0.45359237 kg exactly (the same agreement).
const poundsPerKg = 1 / 0.45359237

// MaxGapMM is the widest gap that a record may carry, in millimetres.
const MaxGapMM = 100

// inchParts is the finest fraction of an inch that rulers in the trade show.
const inchParts = 32

// FormatLength writes millimetres in a member's units: "8.5 mm", or inches to
// the nearest 1/32, "5/16 in", "1 3/8 in".
func FormatLength(mm float64, u Units) string {
	if u != Inches {
		return strconv.FormatFloat(math.Round(mm*10)/10, 'f', -1, 64) + " mm"
	}
	n := int(math.Round(mm / MMPerInch * inchParts))
	whole, num, den := n/inchParts, n%inchParts, inchParts
	for num != 0 && num%2 == 0 {
		num, den = num/2, den/2
	}
	switch {
	case num == 0:
		return fmt.Sprintf("%d in", whole)
	case whole == 0:
		return fmt.Sprintf("%d/%d in", num, den)
	}
	return fmt.Sprintf("%d %d/%d in", whole, num, den)
}

// vulgar are the fractions that keyboards put into one character.
var vulgar = strings.NewReplacer("½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8",
	"⁄", "/", "\u2215", "/", "″", `"`, "”", `"`, ",", ".", "\u00a0", " ")

// BadLength is what is wrong with a length that somebody wrote.
type BadLength struct{ Text Text }

// Error says it in English.
func (b *BadLength) Error() string { return (&Speaker{}).Tell(b.Text) }

// ParseLength reads a length from 0 to 100 mm and returns it in millimetres:
// "8.5 mm", "8,5", "5/16", "1 3/8 in", "1-3/8", `3/8"`, "⅜". A bare number is
// in the units given; a bare fraction is always in inches. Its error is a
// *BadLength.
func ParseLength(s string, u Units) (float64, error) {
	bad := func(why string) (float64, error) {
		return 0, &BadLength{New("length.not", s, New(why))}
	}
	t := strings.ToLower(strings.TrimSpace(vulgar.Replace(s)))
	unit := Units("")
	for _, end := range []struct {
		word string
		unit Units
	}{{"mm", Millimetres}, {"inches", Inches}, {"inch", Inches}, {"in", Inches}, {`"`, Inches}} {
		if rest, ok := strings.CutSuffix(t, end.word); ok {
			t, unit = strings.TrimSpace(rest), end.unit
			break
		}
	}
	if t == "" {
		return bad("length.no-number")
	}
	value, fraction, why := parseMixed(t)
	if why != "" {
		return bad(why)
	}
	switch {
	case unit != "":
	case fraction:
		unit = Inches
	default:
		unit = u
	}
	if unit == Inches {
		value *= MMPerInch
	}
	if value > MaxGapMM {
		key := "length.far"
		if unit == Inches {
			key = "length.far-in"
		}
		return 0, &BadLength{New(key, s, Number{math.Round(value*10) / 10, -1}, MaxGapMM)}
	}
	return value, nil
}

// parseMixed reads "8.5", "5/16", "1 3/8" or "1-3/8" and tells whether there
// was a fraction in it, or what is wrong by the key of a text.
func parseMixed(t string) (value float64, fraction bool, wrong string) {
	fields := strings.FieldsFunc(t, func(r rune) bool { return r == ' ' || r == '\t' || r == '-' })
	if strings.HasPrefix(t, "-") || len(fields) == 0 || len(fields) > 2 {
		return 0, false, "length.one-number"
	}
	last := fields[len(fields)-1]
	top, bottom, fraction := strings.Cut(last, "/")
	if !fraction {
		if len(fields) == 2 {
			return 0, false, "length.two-numbers"
		}
		v, ok := parseDecimal(last)
		if !ok {
			return 0, false, "length.digits"
		}
		return v, false, ""
	}
	num, errN := strconv.ParseUint(top, 10, 16)
	den, errD := strconv.ParseUint(bottom, 10, 16)
	if errN != nil || errD != nil || den == 0 {
		return 0, true, "length.fraction"
	}
	value = float64(num) / float64(den)
	if len(fields) == 2 {
		whole, err := strconv.ParseUint(fields[0], 10, 16)
		if err != nil || num >= den {
			return 0, true, "length.mixed"
		}
		value += float64(whole)
	}
	return value, true, ""
}

// parseDecimal reads plain decimals only: no sign, no exponent, no "Inf".
func parseDecimal(t string) (float64, bool) {
	for _, r := range t {
		if (r < '0' || r > '9') && r != '.' {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(t, 64)
	return v, err == nil
}
