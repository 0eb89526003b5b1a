package main

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"go/ast"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// switchName is the variable of the environment that says which mutant acts, by its
// number from 1; none for 0.
const switchName = "MUTANT_SWITCHED_ON"

// switchable reports whether a mutant can stand in one program with others: as a
// copy of its function, which a switch calls. A function that recovers must be
// called by defer itself.
func (m *mutant) switchable() bool {
	fn := m.function()
	if fn == nil || fn.Name.Name == "init" || fn.Name.Name == "main" {
		return false
	}
	recovers := false
	ast.Inspect(fn.Body, func(n ast.Node) bool {
		if _, inner := n.(*ast.FuncLit); inner {
			return false
		}
		name, ok := n.(*ast.Ident)
		recovers = recovers || ok && name.Name == "recover"
		return true
	})
	return !recovers
}

// source is a changed file, and which mutant each of its lines belongs to.
type source struct {
	text  bytes.Buffer
	lines []int // number of the mutant by line, 0 for none
}

func (s *source) add(text string, number int) {
	s.text.WriteString(text)
	for range strings.Count(text, "\n") {
		s.lines = append(s.lines, number)
	}
}

// switched writes a file in which each function with mutants calls the copy of
// itself that the switch names. Numbers are those of the mutants.
func switched(file *codeFile, numbers map[*mutant]int) *source {
	of := map[*ast.FuncDecl][]*mutant{}
	var functions []*ast.FuncDecl
	var c *code
	for m := range numbers {
		if m.at.file != file {
			continue
		}
		c = m.of
		fn := m.function()
		if of[fn] == nil {
			functions = append(functions, fn)
		}
		of[fn] = append(of[fn], m)
	}
	slices.SortFunc(functions, func(a, b *ast.FuncDecl) int { return int(a.Pos() - b.Pos()) })
	out, done := &source{}, 0
	for _, fn := range functions {
		begin, end := c.offset(fn.Pos()), c.offset(fn.End())
		named := c.offset(fn.Name.End())
		mutants := of[fn]
		slices.SortFunc(mutants, func(a, b *mutant) int { return cmp.Compare(numbers[a], numbers[b]) })
		out.add(string(file.text[done:begin]), 0)
		out.add(c.caller(file, fn, mutants, numbers), 0)
		out.add(string(file.text[begin:named])+"__0"+string(file.text[named:end])+"\n", 0)
		for _, m := range mutants {
			text := fmt.Sprintf("%s__%d%s%s%s\n", file.text[begin:named], numbers[m], file.text[named:m.at.begin], m.New, file.text[m.at.end:end])
			out.add(text, numbers[m])
		}
		done = end
	}
	out.add(string(file.text[done:]), 0)
	return out
}

// caller is the function that calls the copy which the switch names.
func (c *code) caller(file *codeFile, fn *ast.FuncDecl, mutants []*mutant, numbers map[*mutant]int) string {
	text := func(n ast.Node) string { return string(file.text[c.offset(n.Pos()):c.offset(n.End())]) }
	var b strings.Builder
	callee := fn.Name.Name
	b.WriteString("func ")
	if fn.Recv != nil {
		fmt.Fprintf(&b, "(it__ %s) ", text(fn.Recv.List[0].Type))
		callee = "it__." + callee
	}
	b.WriteString(fn.Name.Name)
	kinds := "" // type arguments
	if fn.Type.TypeParams != nil {
		b.WriteString(text(fn.Type.TypeParams))
		var names []string
		for _, f := range fn.Type.TypeParams.List {
			for _, n := range f.Names {
				names = append(names, n.Name)
			}
		}
		kinds = "[" + strings.Join(names, ", ") + "]"
	}
	var params, args []string
	for _, f := range fn.Type.Params.List {
		for range max(1, len(f.Names)) {
			name := fmt.Sprintf("p%d__", len(params))
			params = append(params, name+" "+text(f.Type))
			if _, many := f.Type.(*ast.Ellipsis); many {
				name += "..."
			}
			args = append(args, name)
		}
	}
	fmt.Fprintf(&b, "(%s) ", strings.Join(params, ", "))
	give, after := "", "; return"
	if fn.Type.Results != nil {
		b.WriteString(text(fn.Type.Results) + " ")
		give, after = "return ", ""
	}
	b.WriteString("{ switch mutant__ { ")
	call := func(number int) string {
		return fmt.Sprintf("%s%s__%d%s(%s)%s", give, callee, number, kinds, strings.Join(args, ", "), after)
	}
	for _, m := range mutants {
		fmt.Fprintf(&b, "case %d: %s; ", numbers[m], call(numbers[m]))
	}
	fmt.Fprintf(&b, "}; %s }\n", call(0))
	return b.String()
}

// overlay writes what go needs to take changed files for others.
func overlay(root, dir string, files map[string][]byte) (string, error) {
	replace := map[string]string{}
	for name, text := range files {
		changed := filepath.Join(dir, strings.ReplaceAll(name, "/", "_"))
		replace[filepath.Join(root, name)] = changed
		if err := os.WriteFile(changed, text, 0o644); err != nil {
			return "", err
		}
	}
	data, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		return "", err
	}
	list := filepath.Join(dir, "overlay.json")
	return list, os.WriteFile(list, data, 0o644)
}

// switchFile declares the switch in a package.
func switchFile(pkg string) string {
	return "package " + pkg + "\n\nimport (\n\t\"os\"\n\t\"strconv\"\n)\n\nvar mutant__, _ = strconv.Atoi(os.Getenv(\"" + switchName + "\"))\n"
}
