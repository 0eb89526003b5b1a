package records

import (
	"bytes"
)

// lineWidth is how wide a value may be to stand on one line.
const lineWidth = 180

// layout spreads compact JSON over lines: what fits on one line stays on one.
func layout(src []byte, indent string) []byte {
	var b bytes.Buffer
	spread(&b, src, indent, 0)
	b.WriteByte('\n')
	return b.Bytes()
}

// spread writes the one value that src is; used is how much of the line stands
// already.
func spread(b *bytes.Buffer, src []byte, indent string, used int) {
	opening := src[0]
	if opening != '{' && opening != '[' {
		b.Write(src)
		return
	}
	if len(indent)+used+len(src)+bytes.Count(src, []byte{','}) <= lineWidth {
		inline(b, src)
		return
	}
	b.WriteByte(opening)
	inner := indent + "  "
	for rest := src[1 : len(src)-1]; len(rest) > 0; {
		b.WriteString("\n" + inner)
		lead := 0
		if opening == '{' {
			lead = valueEnd(rest) + 1
			b.Write(rest[:lead])
			b.WriteByte(' ')
			rest = rest[lead:]
		}
		end := valueEnd(rest)
		spread(b, rest[:end], inner, lead+1)
		if end < len(rest) {
			b.WriteByte(',')
			end++
		}
		rest = rest[end:]
	}
	b.WriteString("\n" + indent)
	b.WriteByte(src[len(src)-1])
}

// inline writes src with a space behind commas and colons.
func inline(b *bytes.Buffer, src []byte) {
	text := false
	for i, c := range src {
		b.WriteByte(c)
		if c == '"' && !escaped(src, i) {
			text = !text
		}
		if !text && (c == ',' || c == ':') {
			b.WriteByte(' ')
		}
	}
}

// valueEnd returns the length of the value that compact JSON starts with.
func valueEnd(src []byte) int {
	depth, text := 0, false
	for i, c := range src {
		switch {
		case c == '"' && !escaped(src, i):
			text = !text
		case text:
		case c == '{' || c == '[':
			depth++
		case c == '}' || c == ']':
			depth--
		case (c == ',' || c == ':') && depth == 0:
			return i
		}
	}
	return len(src)
}

// escaped reports whether the quote at i is part of a text.
func escaped(src []byte, i int) bool {
	n := 0
	for i--; i >= 0 && src[i] == '\\'; i-- {
		n++
	}
	return n%2 == 1
}
