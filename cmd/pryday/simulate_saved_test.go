package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestSimulateAgainst saves a run and compares another with it.
func TestSimulateAgainst(t *testing.T) {
	file := filepath.Join(t.TempDir(), "before.json")
	small := func(args ...string) []string {
		return append([]string{"simulate", "--seeds", "2", "--apiaries", "1", "--hives", "2", "--boxes", "2", "--years", "2"}, args...)
	}
	said := mustRun(t, small("--world", "imperfect", "--save", file)...)
	if strings.Contains(said, "The planner against") {
		t.Errorf("compared with nothing:\n%s", said)
	}
	text := mustRun(t, small("--world", "imperfect", "--against", file)...)
	if !strings.HasPrefix(text, said) || !strings.Contains(text, "The planner against the one that wrote "+file) || strings.Contains(text, "have changed since") {
		t.Errorf("the comparison is not added to what a run says:\n%s", text)
	}
	for _, tc := range []struct {
		name string
		args []string
		says string
	}{
		{"a world it does not have", small("--against", file), `the file has no scores of the world "tidy"`},
		{"other clubs", small("--world", "imperfect", "--first-seed", "1", "--against", file), "of seeds 3001 to 3002"},
		{"for programs", small("--world", "imperfect", "--against", file, "--format", "json"), "leave out --format json"},
		{"over what is there", small("--save", file), "already exists"},
		{"no such file", small("--against", file+".not"), "no such file"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			var out, said bytes.Buffer
			code := run(t.Context(), tc.args, &terminal{out: &out, err: &said, now: leapDay})
			if code != 1 || !strings.Contains(said.String(), tc.says) || out.Len() > 0 {
				t.Errorf("exit %d, %q", code, said.String())
			}
		})
	}
}

// TestSimulateRules: other rules change what planners do, each with its own limit, and
// nothing else.
func TestSimulateRules(t *testing.T) {
	file := filepath.Join(t.TempDir(), "rules.toml")
	with := func(rules string) map[string]string {
		if err := os.WriteFile(file, []byte(rules), 0o600); err != nil {
			t.Fatal(err)
		}
		lines := map[string]string{}
		for line := range strings.Lines(mustRun(t, "simulate", "--seeds", "2", "--apiaries", "1", "--hives", "3", "--boxes", "3", "--years", "3", "--rules", file)) {
			if f := strings.Fields(line); len(f) >= 6 && lines[f[0]] == "" {
				lines[f[0]] = line
			}
		}
		return lines
	}
	usual, often := with("odds_limit = 0.3\n"), with("max_days = 60\n")
	changed := 0
	for policy, line := range usual {
		plans := strings.HasPrefix(policy, "planner") || strings.HasPrefix(policy, "true-rates") || strings.HasPrefix(policy, "knows")
		if often[policy] != line {
			changed++
			if !plans {
				t.Errorf("other rules change %s:\n%s%s", policy, line, often[policy])
			}
		}
	}
	if changed < 12 {
		t.Errorf("%d planners go by the rules of the file", changed)
	}
	if usual["planner-0.08"] == usual["planner-0.40"] {
		t.Error("the limit of the file counts")
	}
	var out, said bytes.Buffer
	if err := os.WriteFile(file, []byte("max_days = 1\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code := run(t.Context(), []string{"simulate", "--rules", file}, &terminal{out: &out, err: &said, now: leapDay}); code != 1 || !strings.Contains(said.String(), "max_days") {
		t.Errorf("exit %d, %q", code, said.String())
	}
}
