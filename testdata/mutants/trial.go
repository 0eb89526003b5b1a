package main

import (
	"bytes"
	"context"
	"encoding/json"
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

// hangsAfter is how long a package's tests may take before a mutant counts as
// noticed: it never ends.
const hangsAfter = "6m"

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
func (t trials) all(ctx context.Context, mutants []*mutant, jobs int) ([]result, error) {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	if err := t.allGreen(ctx, mutants); err != nil {
		return nil, err
	}
	todo := make(chan *mutant)
	var wg sync.WaitGroup
	var mu sync.Mutex
	var results []result
	for range jobs {
		wg.Go(func() {
			for m := range todo {
				r, err := t.try(ctx, m)
				if err != nil {
					cancel(err)
					return
				}
				mu.Lock()
				results = append(results, r)
				fmt.Printf("%3d/%d %s\n", len(results), len(mutants), line(r))
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
	return results, context.Cause(ctx)
}

// allGreen returns an error unless the tests that must notice pass as they
// are: a failure would speak against no mutant.
func (t trials) allGreen(ctx context.Context, mutants []*mutant) error {
	args := []string{"test", "-vet=off"}
	seen := map[string]bool{}
	for _, m := range mutants {
		for _, pkg := range m.Tests {
			if !seen[pkg] {
				seen[pkg] = true
				args = append(args, "./"+pkg)
			}
		}
	}
	if out, err := t.goTool(ctx, args...); err != nil {
		return fmt.Errorf("tests fail without any mutant: %w\n%s", err, out)
	}
	return nil
}

// try runs the tests that must notice a mutant until one does.
func (t trials) try(ctx context.Context, m *mutant) (result, error) {
	begun := time.Now()
	r := result{mutant: m, fate: survived}
	dir, err := os.MkdirTemp("", "pryday-mutant-")
	if err != nil {
		return r, err
	}
	defer os.RemoveAll(dir)
	overlay, err := t.overlay(dir, m)
	if err != nil {
		return r, err
	}
	for _, run := range t.runs(m) {
		args := []string{"test", "-vet=off", "-count=1", "-failfast", "-timeout=" + hangsAfter, "-overlay=" + overlay, "./" + run.pkg, "-run=" + run.tests}
		if t.drawsCases(run.pkg) {
			args = append(args, "-rapid.nofailfile") // in the tree, where later runs would read it
		}
		out, err := t.goTool(ctx, args...)
		if ctx.Err() != nil {
			return r, context.Cause(ctx)
		}
		if err != nil {
			r.fate, r.by = judge(run.pkg, out)
			break
		}
	}
	r.took = time.Since(begun)
	return r, nil
}

// testRun is some tests of a package.
type testRun struct{ pkg, tests string }

// runs are the tests that must notice a mutant: first those beside its file, which
// mostly do and take seconds, then all.
func (t trials) runs(m *mutant) []testRun {
	var out []testRun
	if near := t.testsBeside(m); near != "" {
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

// overlay writes the changed file and what go needs to take it for the other.
func (t trials) overlay(dir string, m *mutant) (string, error) {
	changed, overlay := filepath.Join(dir, filepath.Base(m.file)), filepath.Join(dir, "overlay.json")
	replace, err := json.Marshal(map[string]map[string]string{"Replace": {filepath.Join(t.root, m.file): changed}})
	if err != nil {
		return "", err
	}
	if err := os.WriteFile(changed, m.code, 0o644); err != nil {
		return "", err
	}
	return overlay, os.WriteFile(overlay, replace, 0o644)
}

var (
	buildFailed = regexp.MustCompile(`(?m)^FAIL\t\S+ \[build failed\]`)
	compileLine = regexp.MustCompile(`(?m)^\S+\.go:\d+:\d+: .*`)
	failedTest  = regexp.MustCompile(`(?m)^\s*--- FAIL: (\S+)`)
	died        = regexp.MustCompile(`(?m)^(panic: .*|fatal error: .*|signal: .*)`)
)

// judge reads why tests failed.
func judge(pkg string, out []byte) (fate, string) {
	if buildFailed.Match(out) {
		return uncompiled, string(compileLine.Find(out))
	}
	if m := failedTest.FindSubmatch(out); m != nil {
		return killed, pkg + " " + string(m[1])
	}
	if m := died.Find(out); m != nil {
		return killed, pkg + " " + string(m)
	}
	return killed, pkg
}

// goTool runs go; a cancelled context ends it with all that it started.
func (t trials) goTool(ctx context.Context, args ...string) ([]byte, error) {
	cmd := exec.CommandContext(ctx, "go", args...)
	cmd.Dir = t.root
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGTERM) }
	return cmd.CombinedOutput()
}
