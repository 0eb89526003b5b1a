package inbox

import (
	"bytes"
	"strings"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"
)

// markupText is what HTML says, without what it quotes. The addresses behind
// links are not said.
func markupText(markup []byte) string {
	z := html.NewTokenizer(bytes.NewReader(markup))
	z.SetMaxBuf(maxMarkup)
	var w textOfMarkup
	for w.Len() < maxText {
		switch z.Next() {
		case html.ErrorToken:
			return strings.TrimSpace(w.String())
		case html.TextToken:
			w.words(string(z.Text()))
		case html.StartTagToken, html.SelfClosingTagToken:
			name, _ := z.TagName()
			w.begin(atom.Lookup(name))
		case html.EndTagToken:
			name, _ := z.TagName()
			w.end(atom.Lookup(name))
		}
	}
	return strings.TrimSpace(w.String())
}

type textOfMarkup struct {
	strings.Builder
	hidden map[atom.Atom]int // elements open whose text is not said
	inside int               // how many
	space  bool              // between the last word and the next
}

func isHidden(a atom.Atom) bool {
	switch a {
	case atom.Head, atom.Script, atom.Style, atom.Title, atom.Blockquote, atom.Template:
		return true
	}
	return false
}

func (w *textOfMarkup) begin(a atom.Atom) {
	switch {
	case isHidden(a):
		if w.hidden == nil {
			w.hidden = map[atom.Atom]int{}
		}
		w.hidden[a]++
		w.inside++
	case a == atom.Br:
		w.newLine()
	default:
		w.block(a)
	}
}

func (w *textOfMarkup) end(a atom.Atom) {
	if isHidden(a) && w.hidden[a] > 0 {
		w.hidden[a]--
		w.inside--
	}
	w.block(a)
}

// block begins a new line at elements that stand on lines of their own.
func (w *textOfMarkup) block(a atom.Atom) {
	switch a {
	case atom.P, atom.Div, atom.Li, atom.Tr, atom.Table, atom.Ul, atom.Ol, atom.H1, atom.H2, atom.H3, atom.H4, atom.Hr, atom.Pre, atom.Blockquote:
		if s := w.String(); s != "" && !strings.HasSuffix(s, "\n") {
			w.newLine()
		}
	}
}

func (w *textOfMarkup) newLine() {
	if w.inside == 0 {
		w.WriteByte('\n')
		w.space = false
	}
}

func (w *textOfMarkup) words(s string) {
	if w.inside > 0 {
		return
	}
	s = strings.ToValidUTF8(strings.ReplaceAll(s, "\u00a0", " "), "\uFFFD")
	for i, word := range strings.Fields(s) {
		if text := w.String(); text != "" && !strings.HasSuffix(text, "\n") && (i > 0 || w.space || strings.IndexAny(s[:1], " \t\r\n") == 0) {
			w.WriteByte(' ')
		}
		w.WriteString(word)
		w.space = false
	}
	if s != "" && strings.ContainsAny(s[len(s)-1:], " \t\r\n") {
		w.space = true
	}
}
