package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestRulesPreview previews rules on the demo's records, without a database.
func TestRulesPreview(t *testing.T) {
	const records, today = "../../testdata/demo.json", "2027-06-01"
	write := func(t *testing.T, rules string) string {
		file := filepath.Join(t.TempDir(), "rules.toml")
		if err := os.WriteFile(file, []byte(rules), 0o600); err != nil {
			t.Fatal(err)
		}
		return file
	}
	preview := func(t *testing.T, rules string, more ...string) string {
		return mustRun(t, append([]string{"rules", "preview", write(t, rules), "--records", records, "--today", today}, more...)...)
	}

	t.Run("the same rules", func(t *testing.T) {
		if out := preview(t, mustRun(t, "rules", "show", "--default")); !strings.Contains(out, "No visit would move.") {
			t.Errorf("got:\n%s", out)
		}
	})
	t.Run("a lower limit", func(t *testing.T) {
		var got previewReport
		if err := json.Unmarshal([]byte(preview(t, "odds_limit = 0.08\n", "--format", "json")), &got); err != nil {
			t.Fatal(err)
		}
		var plan planReport
		if err := json.Unmarshal([]byte(mustRun(t, "plan", "--records", records, "--today", today, "--format", "json")), &plan); err != nil {
			t.Fatal(err)
		}
		openings := 0
		days := map[string]bool{}
		for _, v := range plan.Visits {
			openings += len(v.Boxes)
			days[v.Apiary+v.On.String()] = true
		}
		if got.Before.Visits != len(plan.Visits) || got.Before.Openings != openings {
			t.Errorf("before: %+v; the plan has %d visits with %d openings", got.Before, len(plan.Visits), openings)
		}
		if got.After.Openings <= got.Before.Openings || got.After.Stuck >= got.Before.Stuck {
			t.Errorf("before %+v, after %+v", got.Before, got.After)
		}
		if len(got.Changes) == 0 {
			t.Error("nothing moves")
		}
		for _, c := range got.Changes {
			if c.Was != nil && !days[c.Apiary+c.Was.String()] {
				t.Errorf("%s: no visit stood on %s", c.Apiary, c.Was)
			}
			if want := map[[2]bool]string{{true, true}: "moves", {false, true}: "appears", {true, false}: "vanishes"}[[2]bool{c.Was != nil, c.Now != nil}]; c.Change != want {
				t.Errorf("%+v: want %q", c, want)
			}
		}
		text := preview(t, "odds_limit = 0.08\n")
		if !strings.Contains(text, "moves to") || !strings.Contains(text, "stuck openings to be expected") {
			t.Errorf("got:\n%s", text)
		}
	})
	t.Run("rules that cannot be", func(t *testing.T) {
		var out, said bytes.Buffer
		code := run(t.Context(), []string{"rules", "preview", write(t, "\nodds_limit = 3\n"), "--records", records},
			&terminal{out: &out, err: &said, now: leapDay})
		if code != 1 || !strings.Contains(said.String(), "line 2") || !strings.Contains(said.String(), "odds_limit") || out.Len() > 0 {
			t.Errorf("exit %d, said %q, printed %q", code, said.String(), out.String())
		}
	})
}
