package mail

import (
	"strings"
	"unicode/utf8"
)

// textWidth is the longest line of the text part, addresses excepted.
const textWidth = 72

// usualText is room for most mails, in bytes, so that they grow without copying.
const usualText = 8 << 10

// plaintext writes a page for a terminal reader.
func plaintext(p *page) string {
	var w textWriter
	w.Grow(usualText)
	w.paragraph("", p.Eyebrow)
	w.title(p.Title, "=")
	for i := range p.Blocks {
		w.block(&p.Blocks[i])
	}
	if len(p.Footer) > 0 {
		w.line("-- ") // readers fold what follows away (RFC 3676, 4.3)
		for i := range p.Footer {
			w.block(&p.Footer[i])
		}
	}
	text := w.String()
	return text[:len(strings.TrimRight(text, "\n"))+1]
}

type textWriter struct {
	strings.Builder
	indent  int // of the paragraph being filled, in columns
	column  int
	longest int // the columns of its longest line
}

func (w *textWriter) line(s string) {
	w.WriteString(s)
	w.gap()
}

func (w *textWriter) gap() { w.WriteByte('\n') }

func (w *textWriter) title(s, under string) {
	w.bulleted("", s)
	w.line(strings.Repeat(under, w.longest))
	w.gap()
}

// paragraph writes s with its first line after bullet and the others under it.
func (w *textWriter) paragraph(bullet, s string) {
	w.bulleted(bullet, s)
	w.gap()
}

func (w *textWriter) bulleted(bullet, s string) {
	w.begin(bullet)
	for word := range strings.FieldsSeq(s) {
		w.word("", word)
	}
	w.gap()
}

// ticks writes steps with a box to tick before each; a step stays on one line.
func (w *textWriter) ticks(indent string, steps []string) {
	w.begin(indent)
	for _, s := range steps {
		w.word("[_] ", s)
	}
	w.gap()
}

// begin begins a paragraph: its first line comes after bullet, the others
// under it.
func (w *textWriter) begin(bullet string) {
	w.indent, w.longest = utf8.RuneCountInString(bullet), 0
	w.column = w.indent
	w.WriteString(bullet)
}

// word adds what stays on one line, in a new line where it would pass
// textWidth. One that is longer still has a line of its own.
func (w *textWriter) word(before, s string) {
	n := len(before) + utf8.RuneCountInString(s)
	switch {
	case w.column == w.indent:
	case w.column+1+n > textWidth:
		w.gap()
		for range w.indent {
			w.WriteByte(' ')
		}
		w.column = w.indent
	default:
		w.WriteByte(' ')
		w.column++
	}
	w.WriteString(before)
	w.WriteString(s)
	w.column += n
	w.longest = max(w.longest, w.column)
}

func (w *textWriter) block(b *block) {
	switch {
	case b.Heading != nil && b.Heading.Level == 2:
		w.gap()
		w.title(b.Heading.Text, "-")
	case b.Heading != nil:
		w.paragraph("", b.Heading.Text)
	case b.Para != nil:
		w.paragraph("", b.Para.Text)
	case b.Caution != nil:
		w.paragraph("!! ", b.Caution.Text)
	case b.Facts != nil:
		for _, f := range b.Facts {
			w.bulleted("* ", f.Label+": "+f.Text)
		}
		w.gap()
	case b.List != nil:
		for _, s := range b.List {
			w.bulleted("- ", s)
		}
		w.gap()
	case b.Boxes != nil:
		for _, x := range b.Boxes {
			bullet := "   - "
			if x.Order != "" {
				bullet = "  " + x.Order + ". "
			}
			w.bulleted(bullet, x.Mark)
			under := strings.Repeat(" ", len(bullet))
			w.bulleted(under, x.Why)
			for _, l := range x.Lines {
				w.bulleted(under+"- ", l)
			}
			if len(x.Ticks) > 0 {
				w.ticks(under, x.Ticks)
			}
		}
		w.gap()
	case b.Ticks != nil:
		w.ticks("  ", b.Ticks)
		w.gap()
	case b.Letter != nil:
		for _, s := range b.Letter {
			w.bulleted("| ", s) // not ">", which readers take for a quotation
		}
		w.gap()
	case b.Buttons != nil:
		for _, x := range b.Buttons {
			w.bulleted("-> ", x.Label+":") // not ">", which readers take for a quotation
			w.line("   " + x.URL)
		}
		w.gap()
	}
}
