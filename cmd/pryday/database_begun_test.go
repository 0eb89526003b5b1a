package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestNoRecordsThere: a command that works with records says where it looked for
// them and makes none.
func TestNoRecordsThere(t *testing.T) {
	t.Setenv("LC_ALL", "C")
	home := t.TempDir()
	t.Setenv("HOME", home)
	t.Setenv("XDG_STATE_HOME", home)
	rules := filepath.Join(home, "rules.toml")
	if err := os.WriteFile(rules, []byte(mustRun(t, "rules", "show", "--default")), 0o600); err != nil {
		t.Fatal(err)
	}
	openings := filepath.Join(home, "openings.csv")
	if err := os.WriteFile(openings, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(home, "mistyped")
	for _, args := range [][]string{
		{"link", "list"},
		{"link", "add", "a@example.org"},
		{"link", "revoke", "1"},
		{"member", "list"},
		{"member", "add", "A", "a@example.org"},
		{"member", "sign-in", "a@example.org"},
		{"plan"},
		{"messages"},
		{"rules", "show"},
		{"rules", "apply", rules},
		{"rules", "preview", rules},
		{"export"},
		{"import", openings},
		{"club", "list"},
		{"club", "remove", "A", "--yes"},
		{"person", "data", "a@example.org"},
		{"audit", "verify"},
		{"keys", "list"},
		{"mail", "preview"},
		{"mail", "test", "a@example.org"},
		{"migrate"},
		{"backup", filepath.Join(home, "x")},
	} {
		status, said := tryRun(t, append(args, "--state-dir", dir)...)
		if status != 1 || !strings.Contains(said, "there are no records in "+dir+" (named by --state-dir): ") {
			t.Errorf("%v: status %d: %s", args, status, said)
		}
		if _, err := os.Stat(dir); err == nil {
			t.Fatalf("%v made a state directory", args)
		}
	}
	if os.Getuid() != 0 { // whose usual place is the machine's
		usual := filepath.Join(home, "pryday")
		if _, said := tryRun(t, "plan"); !strings.Contains(said, "there are no records in "+usual+" (the usual place, since none is named): ") {
			t.Error(said)
		}
	}
	demo := filepath.Join(dir, "demo")
	if err := os.MkdirAll(filepath.Join(demo, "postgres", "data"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(demo, "postgres", "data", "PG_VERSION"), []byte("15\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PRYDAY_STATE_DIR", dir)
	if _, said := tryRun(t, "plan"); !strings.Contains(said, dir+" (named by PRYDAY_STATE_DIR): ") || !strings.Contains(said, "those of the demo are found with --state-dir "+demo) {
		t.Error(said)
	}
}
