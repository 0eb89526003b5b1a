package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const switchedSample = `package sample

type Box struct{ n int }

// Due is kept.
func (b *Box) Due(today int) bool { return b.n < today }

func (Box) Named(string, ...int) (n int, ok bool) { return 1, true }

func each[T, U any](all []T, do func(T) (
	U, error)) (out []U) {
	for range all {
		out = append(out, *new(U))
	}
	return out
}

func (b *Box) open(a, c int) {
	b.n = a + c
}

func guard() {
	if recover() != nil {
		return
	}
}
`

// TestSwitched: every copy stands in one program, which calls the one that the switch
// names, and lines that do not compile are known for their mutant's.
func TestSwitched(t *testing.T) {
	root := t.TempDir()
	if err := os.Mkdir(filepath.Join(root, "sample"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(root, "sample", "box.go"), []byte(switchedSample), 0o644); err != nil {
		t.Fatal(err)
	}
	c, err := readCode(root, "sample")
	if err != nil {
		t.Fatal(err)
	}
	mutants := []*mutant{
		{Old: "b.n < today", New: "b.n <= today"},
		{Old: "return 1, true", New: "return 2, true"},
		{Old: "range all", New: "range all[1:]"},
		{Old: "a + c", New: "a - c"},
		{Old: "a + c", New: "a"},
		{Old: "return b.n < today", New: "return b.n < yesterday"},
	}
	numbers := map[*mutant]int{}
	for i, m := range mutants {
		m.pkg, m.Tests = "sample", []string{"sample"}
		if err := c.place(m); err != nil || !m.switchable() {
			t.Fatalf("%v: %v, switchable %t", m.Old, err, m.switchable())
		}
		numbers[m] = i + 1
	}
	alone := &mutant{Old: "recover() != nil", New: "false", pkg: "sample"}
	if err := c.place(alone); err != nil || alone.switchable() {
		t.Errorf("a function that recovers stands beside others: %v", err)
	}
	if groups := groupsOf(append(mutants, alone)); len(groups) != 2 || len(groups[0]) != len(mutants) {
		t.Errorf("%d groups", len(groups))
	}

	out := switched(mutants[0].at.file, numbers)
	text := out.text.String()
	for _, want := range []string{
		"// Due is kept.\nfunc (it__ *Box) Due(p0__ int) bool { switch mutant__ { case 1: return it__.Due__1(p0__); case 6: return it__.Due__6(p0__); }; return it__.Due__0(p0__) }",
		"func (it__ Box) Named(p0__ string, p1__ ...int) (n int, ok bool) { switch mutant__ { case 2: return it__.Named__2(p0__, p1__...);",
		"case 3: return each__3[T, U](p0__, p1__);", "case 4: it__.open__4(p0__, p1__); return;", "b.n = a - c", "func guard() {",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	fset := token.NewFileSet()
	var files []*ast.File
	for name, code := range map[string]string{"box.go": text, "switch.go": "package sample\n\nvar mutant__ int\n"} {
		f, err := parser.ParseFile(fset, name, code, 0)
		if err != nil {
			t.Fatalf("%s: %v\n%s", name, err, code)
		}
		files = append(files, f)
	}
	var wrong []int
	check := types.Config{Error: func(err error) {
		wrong = append(wrong, out.lines[fset.Position(err.(types.Error).Pos).Line-1])
	}}
	check.Check("sample", fset, files, nil)
	if len(wrong) != 1 || wrong[0] != 6 {
		t.Errorf("mutants %v do not compile, want the sixth alone\n%s", wrong, text)
	}
}

func TestNoticed(t *testing.T) {
	for out, want := range map[string]string{
		"--- FAIL: TestDue (0.00s)\n    --- FAIL: TestDue/late (0.00s)\nFAIL\n": "sample TestDue",
		"panic: test timed out after 6m0s\n":                                    "sample panic: test timed out after 6m0s",
		"FAIL\n":                                                                "sample",
	} {
		if by := noticed("sample", []byte(out)); by != want {
			t.Errorf("%q: by %q, want %q", out, by, want)
		}
	}
}

func TestBlame(t *testing.T) {
	broken := &mutant{What: "second"}
	g := &group{broken: map[*mutant]string{}}
	g.blame([]byte("# pryday/sample\nsample/box.go:3:3: undefined: x\n./sample_box.go:1:1: no mutant's\n"), []*mutant{{What: "first"}, broken}, map[string][]int{"sample/box.go": {0, 1, 2}})
	if len(g.broken) != 1 || g.broken[broken] == "" {
		t.Errorf("%v", g.broken)
	}
}

func TestNoted(t *testing.T) {
	of := func(list string, fate fate, survives string) result {
		return result{mutant: &mutant{list: list, Survives: survives}, fate: fate}
	}
	results := []result{of("feed", killed, ""), of("feed", survived, "equivalent"), of("feed", survived, ""), of("mail", killed, "")}
	var all []*mutant
	for i := range results {
		all = append(all, results[i].mutant)
	}
	all = append(all, &mutant{list: "mail"})
	text := "# Results\n\n| list | mutants |\n| --- | ---: |\n| feed | old |\n| mail | of before |\n"
	want := "# Results\n\n| list | mutants |\n| --- | ---: |\n| feed | 3 | 1 | 1 | 1 | abc |\n| mail | of before |\n"
	if got := noted(text, all, results, "abc"); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}
