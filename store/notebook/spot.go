package notebook

import (
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"
)

// spot is where in its stack a word puts a box: of two, the smaller stands lower. 0 says
// nothing of it.
type spot int

// What the words name, from the bottom up; several broods and supers are told apart by
// what stands beside the word, up to a hundred of them.
const (
	spotFloor  spot = 100
	spotBrood  spot = 200
	spotMiddle spot = 300
	spotSuper  spot = 400
	spotTop    spot = 900
)

// What stands beside "brood" or "super": nothing, a number, or which of them it is.
const (
	lowestOfThem  = 0
	firstOfThem   = 1
	middleOfThem  = 50
	topmostOfThem = 99
)

func (s spot) brood() bool { return s >= spotBrood && s < spotMiddle }
func (s spot) super() bool { return s >= spotSuper && s < spotTop }

// shortest is how many letters a painted mark has at least that is taken for such a
// word: "HR" is more likely somebody's name.
const shortest = 3

var (
	letterDigit = regexp.MustCompile(`(\pL)(\pN)`)
	ordinal     = regexp.MustCompile(`^(\d+)(st|nd|rd|th)$`)
)

// spotOf reads a place in a stack as a word, "Brood", "Super 2", "2. Honigraum",
// "upper brood box", or as a number with a word that counts, "Box 3": the place from 1,
// the lowest.
func spotOf(s string) (where spot, at int, ok bool) {
	var which []int // of several broods or supers
	var rest []string
	number := 0
	for _, word := range strings.Fields(letterDigit.ReplaceAllString(fold(s), "$1 $2")) {
		word = ordinal.ReplaceAllString(word, "$1")
		switch n := nth(word); {
		case n > 0:
			number, which = n, append(which, n)
		case known().bottom[word]:
			which = append(which, lowestOfThem)
		case known().middle[word]:
			which = append(which, middleOfThem)
		case known().top[word]:
			which = append(which, topmostOfThem)
		default:
			rest = append(rest, word)
		}
	}
	if len(which) > 1 {
		return 0, 0, false
	}
	one := append(which, firstOfThem)[0]
	switch name := strings.Join(rest, " "); {
	case name == "" && number == 0 && len(which) == 1:
		return map[int]spot{lowestOfThem: spotFloor, middleOfThem: spotMiddle, topmostOfThem: spotTop}[one], 0, true
	case known().brood[name]:
		return spotBrood + spot(one), 0, true
	case known().super[name]:
		return spotSuper + spot(one), 0, true
	case known().storey[name] && number > 0:
		return 0, number, true
	}
	return 0, 0, false
}

// nth reads which one of a stack is meant, from 1.
func nth(word string) int {
	if n := number(word); n >= 1 && n <= mostCounted {
		return n
	}
	return 0
}

// spotOfMark is where a painted mark puts its box, if it is a word that says so and no
// number or name: "Super 1", but not "Box 14".
func spotOfMark(mark string) spot {
	words := strings.FieldsFunc(fold(mark), func(r rune) bool { return r == ' ' || r >= '0' && r <= '9' })
	if !slices.ContainsFunc(words, func(w string) bool { return utf8.RuneCountInString(w) >= shortest }) {
		return 0
	}
	where, _, _ := spotOf(mark)
	return where
}
