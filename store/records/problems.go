package records

import (
	"sort"

	"pryday/scheduler/text"
)

// Problem is one thing that is wrong with a records document or a file.
type Problem struct {
	Line, Column int       // from 1, the column in characters; 0 when not known
	Path         string    // apiaries[0].hives[2].boxes[1].name, or the name of a column or rule
	Value        string    // what stands there, as it is written; empty when nothing does
	Why          text.Text // what is wrong with it, the value included
	Allowed      text.Text // what may stand there; zero where Why says it all
}

// Text says the problem: the place, the value and what is allowed.
func (p Problem) Text() text.Text {
	says := p.Why
	if !p.Allowed.IsZero() {
		says = text.New("records.allowed", says, p.Allowed)
	}
	if p.Path != "" {
		says = text.New("records.at", p.Path, says)
	}
	switch {
	case p.Line > 0 && p.Column > 0:
		return text.New("records.line-column", p.Line, p.Column, says)
	case p.Line > 0:
		return text.New("records.line", p.Line, says)
	}
	return says
}

// String tells the problem in one line, in English.
func (p Problem) String() string { return english.Tell(p.Text()) }

// english says problems to logs.
var english = &text.Speaker{}

// Problems is everything found wrong with one document, in its order. It is
// the error that the parsers of this package return.
type Problems []Problem

const (
	shownProblems = 20   // in one error text
	keptProblems  = 1000 // of one document: the rest would say the same
)

// Error lists the problems in English, one a line, the first 20 of them.
func (ps Problems) Error() string { return english.Tell(ps.Text()) }

// Text lists the problems, one a line, the first 20 of them.
func (ps Problems) Text() text.Text {
	if len(ps) == 1 {
		return ps[0].Text()
	}
	count := text.New("records.problems", len(ps))
	if len(ps) >= keptProblems {
		count = text.New("records.problems-or-more", keptProblems)
	}
	lines := text.Lines{count}
	for i, p := range ps {
		if i == shownProblems {
			lines = append(lines, text.New("records.more", len(ps)-i))
			break
		}
		lines = append(lines, p.Text())
	}
	return text.New("records.allow.these", lines)
}

// Texts are the problems one by one.
func (ps Problems) Texts() []text.Text {
	out := make([]text.Text, len(ps))
	for i, p := range ps {
		out[i] = p.Text()
	}
	return out
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
	count := 0
	for at := range s {
		if count++; count > most {
			return s[:at] + "..."
		}
	}
	return s
}
