package mail

import (
	_ "embed"
	"html"
	"strings"
)

// dark holds the colours for dark screens, in readers that know style sheets.
//
//go:embed dark.css
var dark string

const head = `<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="supported-color-schemes" content="light dark">
`

// usualHTML is room for most mails, in bytes, so that they grow without copying.
const usualHTML = 16 << 10

// webpage writes a page as HTML. The blocks are few and simple: a template
// took a quarter of all the time that a mail takes.
func webpage(p *page) string {
	var w htmlWriter
	w.Grow(usualHTML)
	w.raw("<!DOCTYPE html>\n<html lang=\"", html.EscapeString(p.Language), "\">\n")
	w.raw(head, "<title>", html.EscapeString(p.Title), "</title>\n<style>\n", dark, "</style>\n</head>\n")
	w.raw(bodyElement.start, "\n", pageElement.start, "\n")
	w.line(clubElement, p.Eyebrow)
	w.line(h1Element, p.Title)
	for i := range p.Blocks {
		w.block(&p.Blocks[i])
	}
	if len(p.Footer) > 0 {
		w.raw(footElement.start, "\n")
		for i := range p.Footer {
			w.foot(&p.Footer[i])
		}
		w.raw(footElement.end, "\n")
	}
	w.raw(pageElement.end, "\n", bodyElement.end, "\n</html>\n")
	return w.String()
}

type htmlWriter struct{ strings.Builder }

// raw writes markup; everything that people entered goes through put or link.
func (w *htmlWriter) raw(markup ...string) {
	for _, s := range markup {
		w.WriteString(s)
	}
}

// put writes an element around a text.
func (w *htmlWriter) put(e element, text string) {
	w.raw(e.start, html.EscapeString(text), e.end)
}

func (w *htmlWriter) line(e element, text string) {
	w.put(e, text)
	w.WriteByte('\n')
}

// link writes a link; one that does not lead to a page leads nowhere.
func (w *htmlWriter) link(a anchor, b *button) {
	url := b.URL
	if !strings.HasPrefix(url, "https://") && !strings.HasPrefix(url, "http://") {
		url = "#"
	}
	w.raw(`<a class="`, a.class, `" href="`, html.EscapeString(url), `" style="`, a.style, `">`, html.EscapeString(b.Label), "</a>")
}

func (w *htmlWriter) block(b *block) {
	switch {
	case b.Heading != nil && b.Heading.Level == 2:
		w.line(h2Element, b.Heading.Text)
	case b.Heading != nil:
		w.line(h3Element, b.Heading.Text)
	case b.Para != nil && b.Para.Fine:
		w.line(fineElement, b.Para.Text)
	case b.Para != nil:
		w.line(paraElement, b.Para.Text)
	case b.Caution != nil:
		w.line(cautionElement, b.Caution.Text)
	case b.Facts != nil:
		for _, f := range b.Facts {
			w.raw(factElement.start)
			w.put(labelElement, f.Label+":")
			w.raw(" ", html.EscapeString(f.Text), factElement.end, "\n")
		}
	case b.List != nil:
		w.raw(listElement.start, "\n")
		for _, s := range b.List {
			w.line(itemElement, s)
		}
		w.raw(listElement.end, "\n")
	case b.Boxes != nil:
		for i := range b.Boxes {
			w.box(&b.Boxes[i])
		}
	case b.Ticks != nil:
		w.ticks(b.Ticks)
	case b.Letter != nil:
		w.raw(letterElement.start)
		for i, s := range b.Letter {
			if i > 0 {
				w.raw("<br>\n")
			}
			w.raw(html.EscapeString(s))
		}
		w.raw(letterElement.end, "\n")
	case b.Buttons != nil:
		w.raw(buttonsElement.start, "\n")
		for i := range b.Buttons {
			a := buttonAnchor
			if b.Buttons[i].Main {
				a = mainAnchor
			}
			w.link(a, &b.Buttons[i])
			w.raw("\n")
		}
		w.raw(buttonsElement.end, "\n")
	}
}

func (w *htmlWriter) box(b *boxLines) {
	w.raw(boxElement.start, "\n")
	if b.Order != "" {
		w.put(orderElement, b.Order+".") // a point and a space, for readers without styles
		w.raw(" ")
	}
	w.line(markElement, b.Mark)
	w.line(whyElement, b.Why)
	if len(b.Lines) > 0 {
		w.raw(detailElement.start)
		for _, s := range b.Lines {
			w.raw("<li>", html.EscapeString(s), "</li>")
		}
		w.raw(detailElement.end, "\n")
	}
	if len(b.Ticks) > 0 {
		w.ticks(b.Ticks)
	}
	w.raw(boxElement.end, "\n")
}

// ticks writes steps with a box to tick before each; a step stays on one line.
func (w *htmlWriter) ticks(steps []string) {
	w.raw(ticksElement.start)
	for i, s := range steps {
		if i > 0 {
			w.raw("&nbsp; ")
		}
		w.raw("&#9744;&nbsp;", strings.ReplaceAll(html.EscapeString(s), " ", "&nbsp;"))
	}
	w.raw(ticksElement.end, "\n")
}

// foot writes a block of the footer, where links are small.
func (w *htmlWriter) foot(b *block) {
	if b.Buttons == nil {
		w.block(b)
		return
	}
	for i := range b.Buttons {
		w.raw(fineElement.start)
		w.link(fineAnchor, &b.Buttons[i])
		w.raw(fineElement.end, "\n")
	}
}
