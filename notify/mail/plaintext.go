package mail

import (
	"strings"
	"unicode/utf8"
)

// textWidth is the longest line of the text part, addresses excepted.
const textWidth = 72

// plaintext writes a page for a terminal reader.
func plaintext(p *page) string {
	var w textWriter
	w.paragraph("", p.Eyebrow)
	w.title(p.Title, '=')
	for _, b := range p.Blocks {
		w.block(b)
	}
	if len(p.Footer) > 0 {
		w.line("-- ") // readers fold what follows away (RFC 3676, 4.3)
		for _, b := range p.Footer {
			w.block(b)
		}
	}
	return strings.TrimRight(w.String(), "\n") + "\n"
}

type textWriter struct{ strings.Builder }

func (w *textWriter) line(s string) { w.WriteString(s + "\n") }

func (w *textWriter) gap() { w.WriteString("\n") }

func (w *textWriter) title(s string, under rune) {
	longest := 0
	for _, l := range wrap(s, textWidth) {
		w.line(l)
		longest = max(longest, utf8.RuneCountInString(l))
	}
	w.line(strings.Repeat(string(under), longest))
	w.gap()
}

// paragraph writes s with its first line after bullet and the others under it.
func (w *textWriter) paragraph(bullet, s string) {
	w.bulleted(bullet, s)
	w.gap()
}

func (w *textWriter) bulleted(bullet, s string) {
	indent := utf8.RuneCountInString(bullet)
	for i, l := range wrap(s, textWidth-indent) {
		if i == 0 {
			w.line(bullet + l)
		} else {
			w.line(strings.Repeat(" ", indent) + l)
		}
	}
}

func (w *textWriter) block(b block) {
	switch {
	case b.Heading != nil && b.Heading.Level == 2:
		w.gap()
		w.title(b.Heading.Text, '-')
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
			w.bulleted(strings.Repeat(" ", len(bullet)), x.Why)
			for _, l := range x.Lines {
				w.bulleted(strings.Repeat(" ", len(bullet))+"- ", l)
			}
			if len(x.Ticks) > 0 {
				w.bulleted(strings.Repeat(" ", len(bullet)), ticks(x.Ticks))
			}
		}
		w.gap()
	case b.Ticks != nil:
		w.bulleted("  ", ticks(b.Ticks))
		w.gap()
	case b.Buttons != nil:
		for _, x := range b.Buttons {
			w.bulleted("> ", x.Label+":")
			w.line("  " + x.URL)
		}
		w.gap()
	}
}

// wrap breaks s at spaces into lines of at most width runes; a longer word
// keeps a line of its own.
func wrap(s string, width int) []string {
	var lines []string
	for part := range strings.SplitSeq(s, "\n") {
		var line strings.Builder
		n := 0
		for word := range strings.FieldsSeq(part) {
			k := utf8.RuneCountInString(word)
			if n > 0 && n+1+k > width {
				lines = append(lines, line.String())
				line.Reset()
				n = 0
			}
			if n > 0 {
				line.WriteByte(' ')
				n++
			}
			line.WriteString(word)
			n += k
		}
		lines = append(lines, line.String())
	}
	return lines
}

// ticks writes steps with a box to tick before each.
func ticks(steps []string) string { return "[_] " + strings.Join(steps, " [_] ") }
