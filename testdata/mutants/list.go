package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"github.com/BurntSushi/toml"
)

// list is one .toml file: mutants of one package.
type list struct {
	Package string    // its folder, as "scheduler/owed"
	Tests   []string  // the packages whose tests must notice; empty: its own
	First   string    // as of a mutant, for those that name none
	Mutant  []*mutant // each a small change to it
}

// mutant is one small change that tests must notice.
type mutant struct {
	What     string   // what the change breaks, in a line
	In       string   // the function or method ("Tx.save") that it is made in; empty: anywhere in the package
	Old      string   // the text to replace: there once, give or take white space
	New      string   // what takes its place
	Tests    []string // packages whose tests must notice; empty: those of the list
	Survives string   // why no test notices and none needs to; empty: one must

	First string // the tests that notice, as -run takes them, to be run before all; empty: those beside the file

	list string // its name
	pkg  string
	file string // that the text was found in, below the root of the module
	at   stretch
	of   *code
}

// String names the mutant as -only sees it.
func (m *mutant) String() string { return fmt.Sprintf("%s: %s: %s", m.pkg, m.file, m.What) }

// readLists reads every list and finds each mutant's place in the code. The
// error names all mutants that have lost theirs.
func readLists(root string) ([]*mutant, error) {
	names, err := filepath.Glob(filepath.Join(root, "testdata", "mutants", "*.toml"))
	if err != nil || len(names) == 0 {
		return nil, errors.Join(errors.New("no lists in testdata/mutants"), err)
	}
	var all []*mutant
	var wrong []error
	for _, name := range names {
		mutants, err := readList(root, name)
		all, wrong = append(all, mutants...), append(wrong, err)
	}
	return all, errors.Join(wrong...)
}

func readList(root, name string) ([]*mutant, error) {
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	var l list
	meta, err := toml.Decode(string(data), &l)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if unknown := meta.Undecoded(); len(unknown) > 0 {
		return nil, fmt.Errorf("%s: unknown key %s", name, unknown[0])
	}
	if len(l.Tests) == 0 {
		l.Tests = []string{l.Package}
	}
	code, err := readCode(root, l.Package)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	var wrong []error
	what := map[string]bool{}
	for _, m := range l.Mutant {
		m.list, m.pkg = strings.TrimSuffix(filepath.Base(name), ".toml"), l.Package
		if len(m.Tests) == 0 {
			m.Tests = l.Tests
		}
		if m.First == "" {
			m.First = l.First
		}
		if err := code.place(m); err != nil {
			wrong = append(wrong, fmt.Errorf("%s: %q: %w", filepath.Base(name), m.What, err))
		}
		if m.What == "" || what[m.What] {
			wrong = append(wrong, fmt.Errorf("%s: two mutants say %q of themselves", filepath.Base(name), m.What))
		}
		what[m.What] = true
	}
	return l.Mutant, errors.Join(wrong...)
}

// moduleRoot returns the folder of go.mod.
func moduleRoot(ctx context.Context) (string, error) {
	out, err := exec.CommandContext(ctx, "go", "env", "GOMOD").Output()
	if err != nil {
		return "", fmt.Errorf("find the module: %w", err)
	}
	return filepath.Dir(strings.TrimSpace(string(out))), nil
}
