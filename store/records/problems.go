package records

import (
	"fmt"
	"sort"
	"strings"
)

// Problem is one thing that is wrong with a records document or a file.
type Problem struct {
	Line, Column int    // from 1, the column in characters; 0 when not known
	Path         string // apiaries[0].hives[2].boxes[1].name, or the name of a column or rule
	Value        string // what stands there, as it is written; empty when nothing does
	Why          string // what is wrong with it, where that is more than "not allowed"
	Allowed      string // what may stand there; empty where Why says it all
}

// String tells the problem in one line.
func (p Problem) String() string {
	var b strings.Builder
	switch {
	case p.Line > 0 && p.Column > 0:
		fmt.Fprintf(&b, "line %d, column %d: ", p.Line, p.Column)
	case p.Line > 0:
		fmt.Fprintf(&b, "line %d: ", p.Line)
	}
	if p.Path != "" {
		b.WriteString(p.Path + ": ")
	}
	why := p.Why
	if why == "" {
		why = "is not allowed"
	}
	if p.Value != "" {
		b.WriteString(p.Value + " ")
	}
	b.WriteString(why)
	if p.Allowed != "" {
		b.WriteString("; allowed: " + p.Allowed)
	}
	return b.String()
}

// Problems is everything found wrong with one document, in its order. It is
// the error that the parsers of this package return.
type Problems []Problem

const (
	shownProblems = 20   // in one error text
	keptProblems  = 1000 // of one document: the rest would say the same
)

// Error lists the problems, one a line, the first 20 of them.
func (ps Problems) Error() string {
	if len(ps) == 1 {
		return ps[0].String()
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%d problems:", len(ps))
	if len(ps) >= keptProblems {
		b.Reset()
		fmt.Fprintf(&b, "%d problems or more:", keptProblems)
	}
	for i, p := range ps {
		if i == shownProblems {
			fmt.Fprintf(&b, "\n  and %d more", len(ps)-i)
			break
		}
		b.WriteString("\n  " + p.String())
	}
	return b.String()
}

// asError returns ps in the order of the document, or nil when there are none.
func (ps Problems) asError() error {
	if len(ps) == 0 {
		return nil
	}
	sort.SliceStable(ps, func(i, j int) bool {
		if ps[i].Line != ps[j].Line {
			return ps[i].Line < ps[j].Line
		}
		return ps[i].Column < ps[j].Column
	})
	return ps
}

// clip shortens a value for an error text.
func clip(s string) string {
	const most = 60
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	return string(r[:most]) + "..."
}
