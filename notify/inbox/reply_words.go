package inbox

import (
	"slices"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"pryday/scheduler/text"
)

// saying is what an answer says of a visit, as calendars call it (RFC 5545,
// 3.2.12). Words of a person come to the first two.
type saying string

const (
	accepted  saying = "ACCEPTED"
	declined  saying = "DECLINED"
	tentative saying = "TENTATIVE"
)

// besides is what may stand around an answer and says nothing of it.
const besides saying = "besides"

// phrase is a few words that mean something.
type phrase struct {
	words []string
	means saying
}

// phrases are those of every language, the longest first. A member may answer
// in another language than the mail was in.
var phrases = sync.OnceValue(func() (all []phrase) {
	for _, l := range text.Languages() {
		say := text.In(l.Tag, text.Millimetres)
		for means, list := range map[saying]string{
			accepted: say.Say("mail.words.going"), declined: say.Say("mail.words.cannot"), besides: say.Say("mail.words.besides"),
		} {
			for _, p := range strings.Split(list, "|") {
				all = append(all, phrase{wordsOf(p), means})
			}
		}
	}
	slices.SortFunc(all, func(a, b phrase) int { return len(b.words) - len(a.words) })
	return all
})

// greeting is how long a line may be, in words, that begins with a greeting
// or thanks and goes on with names.
const greeting = 4

// answerIn reads a reply whose first line leaves no doubt: it is made of the
// words for going, or of those for not going, and of nothing else but thanks
// and the writer's name. Empty where there is doubt, for a person to read.
// more is whether anything else was written.
func answerIn(text, name string) (says saying, more bool) {
	before, _, _ := strings.Cut("\n"+text, "\n--\n") // a signature
	for line := range strings.Lines(before) {
		words := wordsOf(line)
		means, clear := meaning(words, wordsOf(name))
		clear = clear && !strings.Contains(line, "?")
		switch {
		case len(words) == 0, clear && means == "", means == "" && greets(words):
		case says == "" && (!clear || means == ""):
			return "", true
		case says == "":
			says = means
		case clear && means == says:
		case clear:
			return "", true // it says both
		default:
			more = true
		}
	}
	return says, more
}

// meaning is what a line says; not clear where any of its words is not among
// the phrases, or where it says both.
func meaning(words, name []string) (means saying, clear bool) {
	for len(words) > 0 {
		i := slices.IndexFunc(phrases(), func(p phrase) bool { return begins(words, p.words) })
		switch {
		case i >= 0 && phrases()[i].means == besides:
		case i >= 0 && means != "" && means != phrases()[i].means:
			return "", false
		case i >= 0:
			means = phrases()[i].means
		case slices.Contains(name, words[0]):
			words = words[1:]
			continue
		default:
			return "", false
		}
		words = words[len(phrases()[i].words):]
	}
	return means, true
}

func greets(words []string) bool {
	return len(words) <= greeting && slices.ContainsFunc(phrases(), func(p phrase) bool {
		return p.means == besides && begins(words, p.words)
	})
}

func begins(words, with []string) bool {
	return len(words) >= len(with) && slices.Equal(words[:len(with)], with)
}

// wordsOf splits a line into words in lower case, without what stands between
// them. Apostrophes are left out: people leave them out.
func wordsOf(line string) []string {
	line = strings.NewReplacer("'", "", "’", "", "`", "").Replace(strings.ToLower(norm.NFC.String(line)))
	return strings.FieldsFunc(line, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}
