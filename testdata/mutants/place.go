package main

import (
	"bytes"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strings"
)

// code is a package's files but its tests.
type code struct {
	fset  *token.FileSet
	files []codeFile
}

type codeFile struct {
	name   string // below the root of the module
	text   []byte
	syntax *ast.File
}

func readCode(root, pkg string) (*code, error) {
	names, err := filepath.Glob(filepath.Join(root, pkg, "*.go"))
	if err != nil {
		return nil, err
	}
	c := &code{fset: token.NewFileSet()}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		text, err := os.ReadFile(name)
		if err != nil {
			return nil, err
		}
		syntax, err := parser.ParseFile(c.fset, name, text, parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		below, err := filepath.Rel(root, name)
		if err != nil {
			return nil, err
		}
		c.files = append(c.files, codeFile{below, text, syntax})
	}
	if len(c.files) == 0 {
		return nil, fmt.Errorf("package %q has no code", pkg)
	}
	return c, nil
}

// stretch is a part of a file.
type stretch struct {
	file       *codeFile
	begin, end int
}

// place finds where a mutant changes the code.
func (c *code) place(m *mutant) error {
	if m.Old == m.New || strings.TrimSpace(m.Old) == "" {
		return errors.New("it changes nothing")
	}
	within := c.within(m.In)
	if len(within) == 0 {
		return fmt.Errorf("no function is called %q", m.In)
	}
	var found []stretch
	for _, w := range within {
		for _, at := range pattern(m.Old).FindAllIndex(w.file.text[w.begin:w.end], -1) {
			found = append(found, stretch{w.file, w.begin + at[0], w.begin + at[1]})
		}
	}
	if len(found) != 1 {
		return fmt.Errorf("the old text is there %d times and must be once: %s", len(found), m.Old)
	}
	m.at, m.of = found[0], c
	m.file = m.at.file.name
	if _, err := parser.ParseFile(token.NewFileSet(), m.file, m.changed(), 0); err != nil {
		return fmt.Errorf("the new text makes no Go: %w", err)
	}
	return nil
}

// changed is the text of the mutant's file, changed.
func (m *mutant) changed() []byte {
	text := m.at.file.text
	return bytes.Join([][]byte{text[:m.at.begin], text[m.at.end:]}, []byte(m.New))
}

// function returns the function that the mutant changes the body of, or nil.
func (m *mutant) function() *ast.FuncDecl {
	for _, d := range m.at.file.syntax.Decls {
		if fn, ok := d.(*ast.FuncDecl); ok && fn.Body != nil && m.of.offset(fn.Body.Pos()) <= m.at.begin && m.at.end <= m.of.offset(fn.Body.End()) {
			return fn
		}
	}
	return nil
}

func (c *code) offset(p token.Pos) int { return c.fset.Position(p).Offset }

// within returns where the old text is sought: the function of a name, or every
// file.
func (c *code) within(function string) (out []stretch) {
	for i := range c.files {
		f := &c.files[i]
		if function == "" {
			out = append(out, stretch{f, 0, len(f.text)})
			continue
		}
		for _, d := range f.syntax.Decls {
			if fn, ok := d.(*ast.FuncDecl); ok && functionName(fn) == function {
				out = append(out, stretch{f, c.offset(fn.Pos()), c.offset(fn.End())})
			}
		}
	}
	return out
}

// functionName returns a function's name, a method's with its type's.
func functionName(fn *ast.FuncDecl) string {
	if fn.Recv == nil || len(fn.Recv.List) != 1 {
		return fn.Name.Name
	}
	t := fn.Recv.List[0].Type
	if star, ok := t.(*ast.StarExpr); ok {
		t = star.X
	}
	if name, ok := t.(*ast.Ident); ok {
		return name.Name + "." + fn.Name.Name
	}
	return fn.Name.Name
}

// pattern matches a text however its white space is laid out.
func pattern(text string) *regexp.Regexp {
	words := strings.Fields(text)
	for i := range words {
		words[i] = regexp.QuoteMeta(words[i])
	}
	return regexp.MustCompile(strings.Join(words, `\s+`))
}
