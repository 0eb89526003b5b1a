package records

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"strconv"
	"strings"
	"unicode/utf8"

	"pryday/scheduler/text"
)

// Bounds of what a document may hold: ours nests 9 deep, its largest object has
// fewer than 20 keys, and a value with its key takes 10 bytes and more. The
// tree of a document takes some 80 bytes a value.
const (
	maxDepth    = 32
	maxKeys     = 100
	maxValues   = 2_000_000
	fewValues   = 1000 // which may be as short as they like
	leastOfEach = 6    // bytes a value, on average, beyond them
	maxBytes    = 1 << 30
)

// mostValues is how many values a document of so many bytes may have.
func mostValues(size int) int { return min(fewValues+size/leastOfEach, maxValues) }

type kind uint8

const (
	isNull kind = iota
	isBool
	isNumber
	isString
	isObject
	isArray
)

// node is one value of a document with the place where it stands, so that
// whatever is wrong with it can be named.
type node struct {
	text   string // a string's value, a number as written, true or false
	key    string // in an object
	parent *node
	first  *node // of what is in it
	next   *node // beside it
	offset int32 // of its first byte
	index  int32 // among those beside it
	count  int32 // of what is in it
	kind   kind
	used   bool
}

// items are the values in n, in their order.
func (n *node) items() iter.Seq[*node] {
	return func(yield func(*node) bool) {
		for item := n.first; item != nil && yield(item); item = item.next {
		}
	}
}

// path names n from the top: apiaries[0].hives[2].name.
func (n *node) path() string {
	if n == nil || n.parent == nil {
		return ""
	}
	above := n.parent.path()
	if n.parent.kind == isArray {
		return above + "[" + strconv.Itoa(int(n.index)) + "]"
	}
	return joinPath(above, n.key)
}

func joinPath(above, key string) string {
	if above == "" {
		return key
	}
	return above + "." + key
}

// shown is n's value as an error text gives it.
func (n *node) shown() text.Text {
	switch n.kind {
	case isString:
		return literal(strconv.Quote(n.text))
	case isObject:
		return text.New("records.an-object")
	case isArray:
		return text.New("records.a-list")
	case isNull:
		return literal("null")
	}
	return literal(n.text)
}

// literal shows what stands in a file, as it stands there.
func literal(s string) text.Text { return text.New("records.allow.these", clip(s)) }

// tree reads a whole document. Problems of its writing are reported to r; nil
// means that there is nothing to walk.
func (r *reader) tree() *node {
	if len(r.data) > maxBytes {
		r.data = nil
		r.badAt(0, "", text.New("records.why.document", text.New("records.why.too-many-bytes", maxBytes)), text.Text{})
		return nil
	}
	if at := invalidUTF8(r.data); at >= 0 {
		r.report(at, notUTF8(r.data[at]))
		return nil
	}
	if err := json.Unmarshal(r.data, &unread{}); err != nil {
		at, why := len(r.data), text.New("records.why.json", err.Error())
		var syntax *json.SyntaxError
		if errors.As(err, &syntax) {
			at = max(int(syntax.Offset)-1, 0)
		}
		if strings.HasPrefix(err.Error(), "unexpected end") {
			why = text.New("records.why.json-end")
		}
		r.badAt(at, "", why, text.Text{})
		return nil
	}
	most := mostValues(len(r.data))
	n, at := countValues(r.data, most)
	if n > most {
		r.badAt(at, "", text.New("records.why.document", text.New("records.why.too-many-values", most)), text.Text{})
		return nil
	}
	r.nodes, r.keys = make([]node, 0, n), map[string]string{}
	d := json.NewDecoder(bytes.NewReader(r.data))
	d.UseNumber()
	root, err := r.node(d, nil, "", 0)
	if err != nil {
		r.badAt(int(d.InputOffset()), "", text.New("records.why.document", wordsOf(err)), text.Text{})
		return nil
	}
	return root
}

// bound is the error of a document that is beyond one of the bounds.
type bound struct{ text.Text }

func (b bound) Error() string { return english.Tell(b.Text) }

var (
	errTooDeep = bound{text.New("records.why.too-deep", maxDepth)}
	errTooMany = bound{text.New("records.why.too-many-keys", maxKeys)}
)

// wordsOf says an error, a bound in every language.
func wordsOf(err error) text.Text {
	var b bound
	if errors.As(err, &b) {
		return b.Text
	}
	return literal(err.Error())
}

// notUTF8 is the problem of a byte that is no part of a text.
func notUTF8(b byte) Problem {
	shown := fmt.Sprintf("0x%02x", b)
	return Problem{Value: "byte " + shown, Why: text.New("records.why.utf8", shown), Allowed: text.New("records.allow.utf8")}
}

// unread takes a document whose syntax is all that is asked.
type unread struct{}

// UnmarshalJSON takes everything.
func (*unread) UnmarshalJSON([]byte) error { return nil }

// countValues returns how many values a document holds at most (each follows a
// comma or an opening bracket), and where there are more than most, which ends
// the count.
func countValues(data []byte, most int) (n, at int) {
	n = 1
	quoted := false
	for i := 0; i < len(data) && n <= most; i++ {
		switch at = i; data[i] {
		case '"':
			quoted = !quoted
		case '\\':
			i++ // stands in a string only, and what it escapes ends none
		case ',', '{', '[':
			if !quoted {
				n++
			}
		}
	}
	return n, at
}

// node reads the next value from d, which hangs below parent under a key.
func (r *reader) node(d *json.Decoder, parent *node, key string, depth int) (*node, error) {
	r.nodes = append(r.nodes, node{parent: parent, key: key, offset: int32(r.skipTo(int(d.InputOffset())))})
	n := &r.nodes[len(r.nodes)-1]
	if parent != nil {
		n.index = parent.count
	}
	t, err := d.Token()
	if err != nil {
		return nil, err
	}
	switch t := t.(type) {
	case nil:
		n.kind = isNull
	case bool:
		n.kind, n.text = isBool, strconv.FormatBool(t)
	case json.Number:
		n.kind, n.text = isNumber, t.String()
	case string:
		n.kind, n.text = isString, t
	case json.Delim:
		if depth == maxDepth {
			return nil, errTooDeep
		}
		n.kind = isArray
		if t == '{' {
			n.kind = isObject
		}
		return n, r.inside(d, n, depth+1)
	}
	return n, nil
}

// inside reads the members of an object or the items of a list.
func (r *reader) inside(d *json.Decoder, n *node, depth int) error {
	last := &n.first
	for d.More() {
		key := ""
		keyAt := r.skipTo(int(d.InputOffset()))
		if n.kind == isObject {
			t, err := d.Token()
			if err != nil {
				return err
			}
			key = r.oneKey(t.(string))
		}
		if n.kind == isObject && n.count == maxKeys {
			return errTooMany
		}
		item, err := r.node(d, n, key, depth)
		if err != nil {
			return err
		}
		if n.kind == isObject && n.field(key) != nil {
			shown := strconv.Quote(clip(key))
			r.report(keyAt, Problem{Path: item.path(), Value: shown, Why: text.New("records.why.key-twice", shown), Allowed: text.New("records.allow.key-once")})
			continue
		}
		*last, last = item, &item.next
		n.count++
	}
	_, err := d.Token() // the closing bracket
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}

// oneKey returns a key that was met before as that same string.
func (r *reader) oneKey(key string) string {
	if known, ok := r.keys[key]; ok {
		return known
	}
	r.keys[key] = key
	return key
}

// field returns the value under a key, or nil.
func (n *node) field(key string) *node {
	for f := range n.items() {
		if f.key == key {
			return f
		}
	}
	return nil
}

// skipTo returns the offset of the value that follows the separators at from.
func (r *reader) skipTo(from int) int {
	for from < len(r.data) && bytes.IndexByte([]byte(" \t\r\n,:"), r.data[from]) >= 0 {
		from++
	}
	return from
}

// invalidUTF8 returns the offset of the first byte that is not UTF-8, or -1.
func invalidUTF8(data []byte) int {
	if utf8.Valid(data) {
		return -1
	}
	at := 0
	for {
		c, size := utf8.DecodeRune(data[at:])
		if c == utf8.RuneError && size <= 1 {
			return at
		}
		at += size
	}
}
