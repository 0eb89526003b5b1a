package records

import (
	"bytes"
	"slices"
	"sort"
	"strings"
	"unicode/utf8"

	"pryday/scheduler/text"
)

// reader walks a document and gathers what is wrong with it.
type reader struct {
	data     []byte
	nodes    []node            // all of the document, made at once
	keys     map[string]string // each key of the document once
	lines    []int32           // offsets at which lines start, made when first needed
	counted  mark              // as far as the columns of a line were counted
	problems Problems
}

// bad reports a value that may not stand where it does: why is the key of a
// text that takes the value first, and then args.
func (r *reader) bad(n *node, why string, allowed text.Text, args ...any) {
	shown := n.shown()
	r.report(int(n.offset), Problem{
		Path: n.path(), Value: english.Tell(shown), Why: text.New(why, append([]any{shown}, args...)...), Allowed: allowed,
	})
}

// badAt reports what is wrong in a place where nothing stands.
func (r *reader) badAt(offset int, path string, why, allowed text.Text) {
	r.report(offset, Problem{Path: path, Why: why, Allowed: allowed})
}

// report keeps a problem. The last that is kept ends the reading.
func (r *reader) report(offset int, p Problem) {
	p.Line, p.Column = r.place(offset)
	r.problems = append(r.problems, p)
	if len(r.problems) >= keptProblems {
		panic(enough{})
	}
}

// enough is the panic that ends the reading of a document with so many
// problems that the rest would say the same.
type enough struct{}

// untilEnough reads, to the end or to the last problem that is kept.
func (r *reader) untilEnough(read func()) {
	defer func() {
		if p := recover(); p != nil && p != any(enough{}) {
			panic(p)
		}
	}()
	read()
}

// mark is a place in a line.
type mark struct{ line, offset, column int }

// place returns the line and the column of an offset, both from 1.
func (r *reader) place(offset int) (line, column int) {
	if r.lines == nil {
		r.lines = make([]int32, 1, 1+bytes.Count(r.data, []byte("\n")))
		for i, c := range r.data {
			if c == '\n' {
				r.lines = append(r.lines, int32(i+1))
			}
		}
	}
	offset = min(max(offset, 0), len(r.data))
	line = sort.Search(len(r.lines), func(i int) bool { return int(r.lines[i]) > offset })
	from := mark{line, int(r.lines[line-1]), 1}
	if r.counted.line == line && r.counted.offset <= offset { // a document may be one line
		from = r.counted
	}
	r.counted = mark{line, offset, from.column + utf8.RuneCount(bytes.TrimRight(r.data[from.offset:offset], "\n"))}
	return line, r.counted.column
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
		o.r.badAt(int(o.n.offset), joinPath(o.n.path(), key), text.New("records.why.missing"), allowed)
	}
	return n
}

// done reports the keys that nobody asked for.
func (o *object) done() {
	if o.n == nil {
		return
	}
	for f := range o.n.items() {
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
	return slices.AppendSeq(make([]*node, 0, n.count), n.items())
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
