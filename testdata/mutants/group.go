package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

// group is mutants that stand in one program, and the test programs of the
// packages that must notice them. Mutants that no switch can reach are alone.
type group struct {
	trials
	dir     string
	pkg     string
	tests   []string
	numbers map[*mutant]int // from 1
	broken  map[*mutant]string
	alone   bool
	calms   sync.Map // testRun -> *calm
}

// groupsOf sorts mutants into those that stand together.
func groupsOf(mutants []*mutant) (out [][]*mutant) {
	together := map[string]int{}
	for _, m := range mutants {
		key := m.pkg + " " + strings.Join(m.Tests, " ")
		at, ok := together[key]
		switch {
		case !m.switchable():
			out = append(out, []*mutant{m})
		case ok:
			out[at] = append(out[at], m)
		default:
			together[key], out = len(out), append(out, []*mutant{m})
		}
	}
	return out
}

// build makes the test programs in a folder, without the mutants that do not
// compile.
func (t trials) build(ctx context.Context, dir string, mutants []*mutant) (*group, error) {
	g := &group{trials: t, dir: dir, pkg: mutants[0].pkg, tests: mutants[0].Tests, numbers: map[*mutant]int{}, broken: map[*mutant]string{}}
	g.alone = len(mutants) == 1 && !mutants[0].switchable()
	for i, m := range mutants {
		g.numbers[m] = i + 1
	}
	for {
		files, lines := g.files(mutants)
		list, err := overlay(t.root, dir, files)
		if err != nil {
			return nil, err
		}
		wrong := len(g.broken)
		var out []byte
		for _, pkg := range g.tests {
			if out, err = t.goTool(ctx, "test", "-c", "-vet=off", "-gcflags=-e", "-overlay="+list, "-o="+g.program(pkg), "./"+pkg); err != nil {
				break
			}
		}
		if err == nil || ctx.Err() != nil {
			return g, context.Cause(ctx)
		}
		g.blame(out, mutants, lines)
		if len(g.broken) == wrong {
			return nil, fmt.Errorf("build the tests of %v: %w\n%s", g.tests, err, out)
		}
		if len(g.broken) == len(mutants) {
			return g, nil
		}
	}
}

// files are the changed files by name, with the mutant of each of their lines.
func (g *group) files(mutants []*mutant) (files map[string][]byte, lines map[string][]int) {
	files, lines = map[string][]byte{}, map[string][]int{}
	m := mutants[0]
	if g.alone {
		files[m.file] = m.changed()
		lines[m.file] = slices.Repeat([]int{1}, bytes.Count(files[m.file], []byte("\n"))+1)
		return files, lines
	}
	whole := map[*mutant]int{}
	for m, n := range g.numbers {
		if g.broken[m] == "" {
			whole[m] = n
		}
	}
	for m := range whole {
		if files[m.file] == nil {
			s := switched(m.at.file, whole)
			files[m.file], lines[m.file] = s.text.Bytes(), s.lines
		}
	}
	files[filepath.Join(g.pkg, "mutant__switch.go")] = []byte(switchFile(m.at.file.syntax.Name.Name))
	return files, lines
}

var compileLine = regexp.MustCompile(`(?m)^(?:\./)?(\S+\.go):(\d+):\d+: .*`)

// blame notes the mutants on whose lines the compiler stumbled.
func (g *group) blame(out []byte, mutants []*mutant, lines map[string][]int) {
	for _, found := range compileLine.FindAllSubmatch(out, -1) {
		for name, of := range lines {
			line, _ := strconv.Atoi(string(found[2]))
			base := strings.ReplaceAll(name, "/", "_")
			if said := filepath.Base(string(found[1])); said != base && said != filepath.Base(name) || line < 1 || line > len(of) || of[line-1] == 0 {
				continue
			}
			if m := mutants[of[line-1]-1]; g.broken[m] == "" {
				g.broken[m] = string(found[0])
			}
		}
	}
}

func (g *group) program(pkg string) string {
	return filepath.Join(g.dir, strings.ReplaceAll(pkg, "/", "_")+".test")
}

// run runs tests with a mutant acting, 0 for none.
func (g *group) run(ctx context.Context, of testRun, number int, within time.Duration) ([]byte, error) {
	args := []string{"-test.run=" + of.tests, "-test.failfast", "-test.timeout=" + within.String()}
	if g.drawsCases(of.pkg) {
		args = append(args, "-rapid.nofailfile") // in the tree, where later runs would read it
	}
	cmd := command(ctx, g.program(of.pkg), args...)
	cmd.Dir = filepath.Join(g.root, of.pkg)
	cmd.Env = append(os.Environ(), switchName+"="+strconv.Itoa(number))
	out, err := cmd.CombinedOutput()
	return out, errors.Join(err, context.Cause(ctx))
}

// mostTime is how long tests may take of which nothing is known.
const mostTime = 10 * time.Minute

// calm is what came of running tests while no mutant acts.
type calm struct {
	sync.Once
	within time.Duration // how long they may take with one
	err    error
}

// calm makes sure, once, that tests pass while no mutant acts: a failure would speak
// against none. With one they may take five times as long, and a minute at least,
// before it counts as noticed: they never end.
func (g *group) calm(ctx context.Context, of testRun) (time.Duration, error) {
	if g.alone {
		return mostTime, nil // it acts always
	}
	found, _ := g.calms.LoadOrStore(of, &calm{})
	c := found.(*calm)
	c.Do(func() {
		begun := time.Now()
		out, err := g.run(ctx, of, 0, mostTime)
		if err != nil {
			c.err = fmt.Errorf("tests of %s fail without any mutant: %w\n%s", of.pkg, err, out)
		}
		c.within = min(max(5*time.Since(begun), time.Minute), mostTime)
	})
	return c.within, c.err
}
