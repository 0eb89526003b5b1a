package main

import (
	"bytes"
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
