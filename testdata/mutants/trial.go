package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"syscall"
	"time"
)

// fate is what became of a mutant.
type fate string

const (
	killed     fate = "killed"
	survived   fate = "survived"
	uncompiled fate = "does not compile"
)

// result is one mutant tried.
type result struct {
	*mutant
	fate fate
	by   string // the test that noticed, or what else did
	took time.Duration
}

// trials runs tests on changed code, in the module of a folder.
type trials struct{ root string }

// all tries mutants, some at a time, and prints each when it is through. It
// stops at the first error, which is no mutant's: a test that fails anyway, go
// that does not run.
func (t trials) all(ctx context.Context, mutants []*mutant, jobs int) (results []result, err error) {
	tell := func(r result) {
		results = append(results, r)
		fmt.Printf("%3d/%d %s\n", len(results), len(mutants), line(r))
	}
	for _, together := range groupsOf(mutants) {
		if err := t.group(ctx, together, jobs, tell); err != nil {
			return results, err
		}
	}
	return results, nil
}

// group tries mutants that stand in one program.
func (t trials) group(ctx context.Context, mutants []*mutant, jobs int, tell func(result)) error {
	dir, err := os.MkdirTemp("", "pryday-mutants-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	if err := os.Chmod(dir, 0o755); err != nil { // tests give up their rights
		return err
	}
	g, err := t.build(ctx, dir, mutants)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	todo := make(chan *mutant)
	var wg sync.WaitGroup
	var mu sync.Mutex
	for range jobs {
		wg.Go(func() {
			for m := range todo {
				r, err := g.try(ctx, m)
				if err != nil {
					cancel(err)
					return
				}
				mu.Lock()
				tell(r)
				mu.Unlock()
			}
		})
	}
	for _, m := range mutants {
		select {
		case todo <- m:
		case <-ctx.Done():
		}
	}
	close(todo)
	wg.Wait()
	return context.Cause(ctx)
}

// try runs the tests that must notice a mutant until one does.
func (g *group) try(ctx context.Context, m *mutant) (result, error) {
	r := result{mutant: m, fate: survived}
	if r.by = g.broken[m]; r.by != "" {
		r.fate = uncompiled
		return r, nil
	}
	begun := time.Now()
	for _, run := range g.runs(m) {
		within, err := g.calm(ctx, run)
		if err != nil {
			return r, err
		}
		out, err := g.run(ctx, run, g.numbers[m], within)
		if ctx.Err() != nil {
			return r, context.Cause(ctx)
		}
		if err != nil {
			r.fate, r.by = killed, noticed(run.pkg, out)
			break
		}
	}
	r.took = time.Since(begun)
	return r, nil
}

// testRun is some tests of a package.
type testRun struct{ pkg, tests string }

// runs are the tests that must notice a mutant: first those that the list names
// or that stand beside its file, which mostly do and take seconds, then all.
func (t trials) runs(m *mutant) []testRun {
	var out []testRun
	if m.First != "" {
		out = append(out, testRun{m.Tests[0], m.First})
	} else if near := t.testsBeside(m); near != "" {
		out = append(out, testRun{m.pkg, near})
	}
	for _, pkg := range m.Tests {
		out = append(out, testRun{pkg, "."})
	}
	return out
}

var testFunc = regexp.MustCompile(`(?m)^func (Test\w+)\(t \*testing\.T\)`)

// testsBeside matches the tests in the files named for the mutant's file or its
// noun; empty for none, or where other packages must notice.
func (t trials) testsBeside(m *mutant) string {
	if !slices.Equal(m.Tests, []string{m.pkg}) {
		return ""
	}
	noun, _, _ := strings.Cut(strings.TrimSuffix(filepath.Base(m.file), ".go"), "_")
	files, _ := filepath.Glob(filepath.Join(t.root, m.pkg, noun+"*_test.go"))
	var names []string
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil || bytes.HasPrefix(text, []byte("//go:build")) {
			continue
		}
		for _, found := range testFunc.FindAllSubmatch(text, -1) {
			names = append(names, string(found[1]))
		}
	}
	if len(names) == 0 {
		return ""
	}
	return "^(" + strings.Join(names, "|") + ")$"
}

// drawsCases reports whether tests of a package keep the cases in which they
// failed.
func (t trials) drawsCases(pkg string) bool {
	names, err := filepath.Glob(filepath.Join(t.root, pkg, "*_test.go"))
	if err != nil {
		return false
	}
	return slices.ContainsFunc(names, func(name string) bool {
		text, err := os.ReadFile(name)
		return err == nil && bytes.Contains(text, []byte(`"pgregory.net/rapid"`))
	})
}

var (
	failedTest = regexp.MustCompile(`(?m)^\s*--- FAIL: (\S+)`)
	died       = regexp.MustCompile(`(?m)^(panic: .*|fatal error: .*|signal: .*)`)
)

// noticed reads which test noticed, or what else the tests died of.
func noticed(pkg string, out []byte) string {
	if m := failedTest.FindSubmatch(out); m != nil {
		return pkg + " " + string(m[1])
	}
	if m := died.Find(out); m != nil {
		return pkg + " " + string(m)
	}
	return pkg
}

// goTool runs go in the root of the module.
func (t trials) goTool(ctx context.Context, args ...string) ([]byte, error) {
	cmd := command(ctx, "go", args...)
	cmd.Dir = t.root
	return cmd.CombinedOutput()
}

// command is a program that a cancelled context ends with all that it started.
func command(ctx context.Context, name string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGTERM) }
	return cmd
}
