package text

import "strings"

// Marked is a text of which a part is a link, or stands out.
type Marked struct{ Before, Marked, After string }

// What stands for the braces while names go into a text: names may hold
// braces themselves, and never these.
const markBegin, markEnd = "\x02", "\x03"

var (
	toMarks   = strings.NewReplacer("{", markBegin, "}", markEnd)
	fromMarks = strings.NewReplacer(markBegin, "", markEnd, "")
)

// Marked says a text that has one part in braces: "Nobody goes. {Take it}."
func (s *Speaker) Marked(key string, args ...any) Marked {
	words := s.words(args)
	for i, w := range words {
		if name, ok := w.(string); ok {
			words[i] = fromMarks.Replace(name)
		}
	}
	said := fill(toMarks.Replace(s.format(key, words)), words)
	before, rest, _ := strings.Cut(said, markBegin)
	marked, after, _ := strings.Cut(rest, markEnd)
	return Marked{before, marked, after}
}
