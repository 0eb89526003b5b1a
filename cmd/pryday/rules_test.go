package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/store/storetest"
)

// TestRulesMadeFromAnOlderVersion: two people change the same file of rules,
// and the second to apply it is told what the first changed.
func TestRulesMadeFromAnOlderVersion(t *testing.T) {
	database := storetest.New(t)
	today := scheduler.NewDate(2027, 5, 1)
	dir := t.TempDir()
	write := func(name, text string) string {
		t.Helper()
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return file
	}
	change := func(file, from, to string) string {
		t.Helper()
		if !strings.Contains(file, from) {
			t.Fatalf("%q is not in the file", from)
		}
		return strings.Replace(file, from, to, 1)
	}
	apply := func(file string, more ...string) (int, string) {
		return tryRun(t, append([]string{"rules", "apply", file, "--today", today.String(), "--database-url", database}, more...)...)
	}
	mustRun(t, "import", write("club.json", string(nearClub(today))), "--today", today.String(), "--database-url", database)

	shown := mustRun(t, "rules", "show", "--database-url", database)
	first := write("first.toml", change(shown, "odds_limit = 0.2", "odds_limit = 0.15"))
	second := write("second.toml", change(change(shown, "odds_limit = 0.2", "odds_limit = 0.25"), "notice_days = 14", "notice_days = 21"))
	for _, step := range []struct {
		name   string
		file   string
		more   []string
		status int
		says   []string
	}{
		{"the first", first, nil, 0, []string{"version 3 in place of version 2"}},
		{"the first again", first, nil, 0, []string{"already, version 3", "Nothing was changed"}},
		{"the second", second, nil, 1, []string{
			"made from version 2, and version 3 holds by now. Nothing was changed",
			"Changed meanwhile:\n  odds_limit: 0.2 -> 0.15\nChanged by the file:\n  odds_limit: 0.2 -> 0.25\n  notice_days: 14 -> 21\n", "--made-from 3",
		}},
		{"made from what never was", second, []string{"--made-from", "9"}, 1, []string{"version 9, which the club never had; version 3 holds"}},
		{"made from less than one", second, []string{"--made-from", "-1"}, 1, []string{"versions count from 1"}},
		{"having seen it", second, []string{"--made-from", "3"}, 0, []string{"version 4 in place of version 3"}},
		{"without a word", write("mine.toml", "odds_limit = 0.3\n"), nil, 0, []string{"version 5 in place of version 4"}},
		// An earlier version is shown to go back to it.
		{"an earlier version", write("old.toml", mustRun(t, "rules", "show", "--rules-version", "2", "--database-url", database)), nil, 0, []string{"version 6 in place of version 5", "the rules of version 2 again"}},
	} {
		status, said := apply(step.file, step.more...)
		for _, want := range step.says {
			if status != step.status || !strings.Contains(said, want) {
				t.Errorf("%s: status %d, and it does not say %q:\n%s", step.name, status, want, said)
			}
		}
	}
	if now := mustRun(t, "rules", "show", "--database-url", database); !strings.HasPrefix(now, "# Made from version 6.") || !strings.Contains(now, "odds_limit = 0.2\n") {
		t.Errorf("rules that hold:\n%s", now[:200])
	}
}
