package records

import (
	"bytes"
	"sort"
	"strings"
	"unicode/utf8"

	"pryday/scheduler/text"
)

// reader walks a document and gathers what is wrong with it.
type reader struct {
	data     []byte
	lines    []int // offsets at which lines start, made when first needed
	problems Problems
}

// bad reports a value that may not stand where it does: why is the key of a
// text that takes the value first, and then args.
func (r *reader) bad(n *node, why string, allowed text.Text, args ...any) {
	shown := n.shown()
	r.report(n.offset, Problem{
		Path: n.path(), Value: english.Tell(shown), Why: text.New(why, append([]any{shown}, args...)...), Allowed: allowed,
	})
}

// badAt reports what is wrong in a place where nothing stands.
func (r *reader) badAt(offset int, path string, why, allowed text.Text) {
	r.report(offset, Problem{Path: path, Why: why, Allowed: allowed})
}

func (r *reader) report(offset int, p Problem) {
	if len(r.problems) >= keptProblems {
		return
	}
	p.Line, p.Column = r.place(offset)
	r.problems = append(r.problems, p)
}

// place returns the line and the column of an offset, both from 1.
func (r *reader) place(offset int) (line, column int) {
	if r.lines == nil {
		r.lines = []int{0}
		for i, c := range r.data {
			if c == '\n' {
				r.lines = append(r.lines, i+1)
			}
		}
	}
	offset = min(max(offset, 0), len(r.data))
	line = sort.SearchInts(r.lines, offset+1)
	return line, 1 + utf8.RuneCount(bytes.TrimRight(r.data[r.lines[line-1]:offset], "\n"))
}

// object is an object of the document that is being read. Every key asked for
// is a key that may stand in it.
type object struct {
	r     *reader
	n     *node // nil when it is missing or of another kind; then nothing more is reported
	asked []string
}

func (r *reader) object(n *node) *object {
	if n != nil && n.kind != isObject {
		r.bad(n, "records.why.kind", text.New("records.allow.object"))
		n = nil
	}
	return &object{r: r, n: n, asked: make([]string, 0, 20)}
}

// has reports whether a key stands in o.
func (o *object) has(key string) bool { return o.n != nil && o.n.field(key) != nil }

// get returns the value under a key, or nil.
func (o *object) get(key string) *node {
	o.asked = append(o.asked, key)
	if o.n == nil {
		return nil
	}
	f := o.n.field(key)
	if f != nil {
		f.used = true
	}
	return f
}

// need returns the value under a key that must be there.
func (o *object) need(key string, allowed text.Text) *node {
	n := o.get(key)
	if n == nil && o.n != nil {
		o.r.badAt(o.n.offset, joinPath(o.n.path(), key), text.New("records.why.missing"), allowed)
	}
	return n
}

// done reports the keys that nobody asked for.
func (o *object) done() {
	if o.n == nil {
		return
	}
	for _, f := range o.n.items {
		if !f.used {
			o.r.bad(f, "records.why.unknown-key", text.New("records.allow.these", strings.Join(o.asked, ", ")))
		}
	}
}

// list returns the items of a list; a nil n has none.
func (r *reader) list(n *node, allowed text.Text) []*node {
	if n == nil {
		return nil
	}
	if n.kind != isArray {
		r.bad(n, "records.why.kind", allowed)
		return nil
	}
	return n.items
}

func (r *reader) isKind(n *node, k kind, allowed text.Text) bool {
	if n == nil {
		return false
	}
	if n.kind != k {
		r.bad(n, "records.why.kind", allowed)
		return false
	}
	return true
}
