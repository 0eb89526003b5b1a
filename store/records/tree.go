package records

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"unicode/utf8"
)

// Bounds of what a document may hold: ours nests 9 deep, and its largest object
// has fewer than 20 keys.
const (
	maxDepth = 32
	maxKeys  = 100
)

type kind uint8

const (
	isNull kind = iota
	isBool
	isNumber
	isString
	isObject
	isArray
)

var kindNames = [...]string{"null", "true or false", "a number", "a text", "an object", "a list"}

// node is one value of a document with the place where it stands, so that
// whatever is wrong with it can be named.
type node struct {
	kind   kind
	text   string // a string's value, a number as written, true or false
	offset int    // of its first byte
	parent *node
	key    string // in an object
	index  int    // in an array
	items  []*node
	used   bool
}

// path names n from the top: apiaries[0].hives[2].name.
func (n *node) path() string {
	if n == nil || n.parent == nil {
		return ""
	}
	above := n.parent.path()
	if n.parent.kind == isArray {
		return above + "[" + strconv.Itoa(n.index) + "]"
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
func (n *node) shown() string {
	switch n.kind {
	case isString:
		return clip(strconv.Quote(n.text))
	case isObject, isArray:
		return kindNames[n.kind]
	case isNull:
		return "null"
	}
	return clip(n.text)
}

// tree reads a whole document. Problems of its writing are reported to r; nil
// means that there is nothing to walk.
func (r *reader) tree() *node {
	if at := invalidUTF8(r.data); at >= 0 {
		r.badAt(at, "", fmt.Sprintf("byte 0x%02x", r.data[at]), "is not UTF-8", "text saved as UTF-8")
		return nil
	}
	var whole json.RawMessage
	if err := json.Unmarshal(r.data, &whole); err != nil {
		at := len(r.data)
		var syntax *json.SyntaxError
		if errors.As(err, &syntax) {
			at = max(int(syntax.Offset)-1, 0)
		}
		r.badAt(at, "", "", "is not JSON: "+err.Error(), "")
		return nil
	}
	d := json.NewDecoder(bytes.NewReader(r.data))
	d.UseNumber()
	root, err := r.node(d, &node{}, 0)
	if err != nil {
		r.badAt(int(d.InputOffset()), "", "", "is not a records document: "+err.Error(), "")
		return nil
	}
	return root
}

var (
	errTooDeep = fmt.Errorf("nested more than %d deep", maxDepth)
	errTooMany = fmt.Errorf("an object with more than %d keys", maxKeys)
)

// node reads the next value from d into n, which knows where it hangs.
func (r *reader) node(d *json.Decoder, n *node, depth int) (*node, error) {
	n.offset = r.skipTo(int(d.InputOffset()))
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
	for d.More() {
		key := ""
		keyAt := r.skipTo(int(d.InputOffset()))
		if n.kind == isObject {
			t, err := d.Token()
			if err != nil {
				return err
			}
			key, _ = t.(string)
		}
		if n.kind == isObject && len(n.items) == maxKeys {
			return errTooMany
		}
		item, err := r.node(d, &node{parent: n, key: key, index: len(n.items)}, depth)
		if err != nil {
			return err
		}
		if n.kind == isObject && n.field(key) != nil {
			r.badAt(keyAt, item.path(), strconv.Quote(clip(key)), "stands twice in one object", "each key once")
			continue
		}
		n.items = append(n.items, item)
	}
	_, err := d.Token() // the closing bracket
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}

// field returns the value under a key, or nil.
func (n *node) field(key string) *node {
	for _, f := range n.items {
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
