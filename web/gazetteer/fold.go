package gazetteer

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// letters that have no parts to take a mark off.
var letters = strings.NewReplacer(
	"ß", "ss", "æ", "ae", "œ", "oe", "ø", "o", "ł", "l", "đ", "d", "ð", "d", "þ", "th", "ı", "i", "ħ", "h", "ŋ", "n", "ŧ", "t", "ə", "e",
)

// shortened are words that people write in several ways.
var shortened = map[string]string{"saint": "st", "sankt": "st", "sainte": "ste", "santa": "sta"}

// Fold makes one spelling of those that people use for the same: lower case,
// without marks, with single spaces for all that is no letter or digit.
func Fold(s string) string {
	var b strings.Builder
	for _, r := range norm.NFKD.String(strings.ToLower(s)) {
		switch {
		case unicode.Is(unicode.Mn, r), r == '\'', r == '’', r == '‘', r == 'ʻ', r == 'ʼ':
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			b.WriteRune(r)
		default:
			b.WriteByte(' ')
		}
	}
	words := strings.Fields(letters.Replace(b.String()))
	for i, w := range words {
		if short, ok := shortened[w]; ok {
			words[i] = short
		}
	}
	return strings.Join(words, " ")
}

// withoutE reads ae, oe and ue as German writers mean them where they have no
// umlauts: as the letters to which ä, ö and ü fold.
var withoutE = strings.NewReplacer("ae", "a", "oe", "o", "ue", "u")
