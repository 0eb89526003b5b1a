package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// note writes what came of lists that were run whole into testdata/mutants/results.md,
// each into its row.
func (t trials) note(ctx context.Context, all []*mutant, results []result) error {
	commit, err := t.output(ctx, "git", "rev-parse", "--short=10", "HEAD")
	if err != nil {
		return fmt.Errorf("find the commit: %w", err)
	}
	name := filepath.Join(t.root, "testdata", "mutants", "results.md")
	text, err := os.ReadFile(name)
	if err != nil {
		return err
	}
	return os.WriteFile(name, []byte(noted(string(text), all, results, commit)), 0o644)
}

func (t trials) output(ctx context.Context, program string, args ...string) (string, error) {
	cmd := command(ctx, program, args...)
	cmd.Dir = t.root
	out, err := cmd.Output()
	return strings.TrimSpace(string(out)), err
}

// noted is the text of the results with the rows of lists that were run whole, in the
// order of their names.
func noted(text string, all []*mutant, results []result, commit string) string {
	has, ran := map[string]int{}, map[string]map[fate]int{}
	for _, m := range all {
		has[m.list]++
	}
	for i := range results {
		r := &results[i]
		if ran[r.list] == nil {
			ran[r.list] = map[fate]int{}
		}
		ran[r.list][""]++
		if r.fate == survived && r.Survives != "" {
			ran[r.list]["explained"]++
		} else {
			ran[r.list][r.fate]++
		}
	}
	lines := strings.Split(strings.TrimRight(text, "\n"), "\n")
	first := slices.IndexFunc(lines, func(s string) bool { return strings.HasPrefix(s, "| ---") }) + 1
	rows := lines[first:]
	for list, n := range ran {
		if n[""] < has[list] {
			continue
		}
		begin := "| " + list + " |"
		rows = slices.DeleteFunc(rows, func(s string) bool { return strings.HasPrefix(s, begin) })
		open := n[survived] + n[uncompiled]
		rows = append(rows, fmt.Sprintf("%s %d | %d | %d | %d | %s |", begin, n[""], n[killed], n["explained"], open, commit))
	}
	slices.Sort(rows)
	return strings.Join(append(slices.Clone(lines[:first]), rows...), "\n") + "\n"
}
