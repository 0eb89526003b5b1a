package coordinates

import (
	"strconv"
	"strings"
	"unicode"
)

type axis byte

const (
	noAxis axis = iota
	northSouth
	eastWest
)

// token is a number, a unit, a wind, a word for an axis, or what separates.
type token struct {
	kind  byte // 'n' number, 'd' 'm' 's' its unit, 'w' wind, 'a' axis, ',' separator
	value float64
	minus bool // of a number, or of a wind: south or west
	whole bool // a number without decimals
	axis  axis
}

var winds = map[string]token{
	"n": {kind: 'w', axis: northSouth}, "north": {kind: 'w', axis: northSouth}, "nord": {kind: 'w', axis: northSouth},
	"s": {kind: 'w', axis: northSouth, minus: true}, "south": {kind: 'w', axis: northSouth, minus: true}, "süd": {kind: 'w', axis: northSouth, minus: true},
	"e": {kind: 'w', axis: eastWest}, "east": {kind: 'w', axis: eastWest},
	"o": {kind: 'w', axis: eastWest}, "ost": {kind: 'w', axis: eastWest}, // as German has it
	"w": {kind: 'w', axis: eastWest, minus: true}, "west": {kind: 'w', axis: eastWest, minus: true},

	"lat": {kind: 'a', axis: northSouth}, "latitude": {kind: 'a', axis: northSouth}, "breite": {kind: 'a', axis: northSouth}, "breitengrad": {kind: 'a', axis: northSouth},
	"lon": {kind: 'a', axis: eastWest}, "lng": {kind: 'a', axis: eastWest}, "long": {kind: 'a', axis: eastWest},
	"longitude": {kind: 'a', axis: eastWest}, "länge": {kind: 'a', axis: eastWest}, "längengrad": {kind: 'a', axis: eastWest},

	"d": {kind: 'd'}, "deg": {kind: 'd'}, "grad": {kind: 'd'}, "degrees": {kind: 'd'}, "m": {kind: 'm'}, "min": {kind: 'm'}, "sec": {kind: 's'},
}

// units as they are written and as phones set them.
var units = strings.NewReplacer(
	"''", "″", "’’", "″", "′′", "″", "\"", "″", "”", "″", "“", "″", "„", "″", "'", "′", "’", "′", "‘", "′", "´", "′", "`", "′", "º", "°", "˚", "°",
	"−", "-", "–", "-", "‐", "-", "\u00a0", " ", "\u202f", " ", "\u200e", "", "\u200f", "",
)

func parseTyped(s string) (Point, error) {
	err := error(ErrNone)
	for _, comma := range []bool{true, false} {
		tokens, ok := tokenise(s, comma)
		if !ok {
			continue
		}
		p, e := pair(tokens)
		if e == nil {
			return p, nil
		}
		if err == ErrNone || err == ErrUnclear { // what the first way of reading found wrong says more
			err = e
		}
	}
	return Point{}, err
}

// tokenise cuts what was typed; false where it has other words, or nothing that
// a comma could be the decimal point of although it should be.
func tokenise(s string, comma bool) ([]token, bool) {
	runes := []rune(units.Replace(strings.ToLower(s)))
	point := strings.ContainsRune(string(runes), '.')
	if comma && point {
		return nil, false
	}
	var out []token
	digit := func(i int) bool { return i < len(runes) && runes[i] >= '0' && runes[i] <= '9' }
	for i := 0; i < len(runes); {
		r := runes[i]
		switch {
		case unicode.IsSpace(r) || r == ':' || r == '(' || r == ')' || r == '=' || r == '[' || r == ']':
			i++
		case r == ',' || r == ';' || r == '/' || r == '|':
			out = append(out, token{kind: ','})
			i++
		case r == '°':
			out = append(out, token{kind: 'd'})
			i++
		case r == '′':
			out = append(out, token{kind: 'm'})
			i++
		case r == '″':
			out = append(out, token{kind: 's'})
			i++
		case digit(i) || (r == '-' || r == '+') && digit(i+1):
			t, next := numberAt(runes, i, comma)
			out = append(out, t)
			i = next
		case unicode.IsLetter(r):
			end := i
			for end < len(runes) && unicode.IsLetter(runes[end]) {
				end++
			}
			if end < len(runes) && runes[end] == '.' { // N. lat.
				end++
			}
			t, known := winds[strings.TrimSuffix(string(runes[i:end]), ".")]
			if !known {
				return nil, false
			}
			if t.axis == northSouth && t.minus && secondsBefore(out) {
				t = token{kind: 's'}
			}
			out = append(out, t)
			i = end
		default:
			return nil, false
		}
	}
	return out, true
}

// secondsBefore reports whether an s that follows is of seconds, not of the
// south: degrees and minutes have their letters, and a bare number follows them.
func secondsBefore(t []token) bool {
	n := len(t)
	return n >= 5 && t[n-1].kind == 'n' && t[n-2].kind == 'm' && t[n-4].kind == 'd'
}

func numberAt(runes []rune, at int, comma bool) (token, int) {
	t := token{kind: 'n', whole: true, minus: runes[at] == '-'}
	i := at
	if runes[i] == '-' || runes[i] == '+' {
		i++
	}
	begins := i
	digits := func() {
		for i < len(runes) && runes[i] >= '0' && runes[i] <= '9' {
			i++
		}
	}
	digits()
	mark := '.'
	if comma {
		mark = ','
	}
	if i+1 < len(runes) && runes[i] == mark && runes[i+1] >= '0' && runes[i+1] <= '9' {
		t.whole = false
		i++
		digits()
	}
	t.value, _ = strconv.ParseFloat(strings.Replace(string(runes[begins:i]), ",", ".", 1), 64) // digits; what is too large is infinite
	return t, i
}
