package deploy

import (
	"encoding/json"
	"os"
	"regexp"
	"slices"
	"testing"
)

// found are the first groups of all matches in a file, sorted, each once.
func found(t *testing.T, file, pattern string) []string {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, m := range regexp.MustCompile(pattern).FindAllSubmatch(text, -1) {
		out = append(out, string(m[1]))
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// Each alert has a line of what to do about it, and a run in which it is tried,
// and neither is left over from an alert that is gone.
func TestEveryAlertIsExplainedAndTried(t *testing.T) {
	alerts := found(t, "watch/alerts.yaml", `- alert: (\w+)`)
	if len(alerts) < 10 {
		t.Fatalf("%d alerts were found", len(alerts))
	}
	if explained := found(t, "watch/README.md", `(?m)^### (\w+)\n\S`); !slices.Equal(alerts, explained) {
		t.Errorf("alerts and what to do about them differ:\n%q\n%q", alerts, explained)
	}
	if fires := found(t, "watch/alerts_test.yaml", `- alertname: (\w+)\n`); !slices.Equal(alerts, fires) {
		t.Errorf("alerts and the runs in which they go off differ:\n%q\n%q", alerts, fires)
	}
	if quiet := found(t, "watch/alerts_test.yaml", `\{alertname: (\w+),`); !slices.Equal(alerts, quiet) {
		t.Errorf("alerts and those that are quiet on a good day differ:\n%q\n%q", alerts, quiet)
	}
}

// Grafana reads the dashboard, and no panel is without a question.
func TestDashboardIsWhole(t *testing.T) {
	text, err := os.ReadFile("watch/dashboard.json")
	if err != nil {
		t.Fatal(err)
	}
	var board struct {
		Panels []struct {
			ID          int
			Type, Title string
			GridPos     struct{ X, Y, W, H int }
			Targets     []struct{ Expr string }
		}
	}
	if err := json.Unmarshal(text, &board); err != nil {
		t.Fatal(err)
	}
	ids := map[int]bool{}
	for _, p := range board.Panels {
		if ids[p.ID] || p.Title == "" || p.GridPos.X+p.GridPos.W > 24 {
			t.Errorf("panel %d %q: its number is taken, or it has no title or no room", p.ID, p.Title)
		}
		ids[p.ID] = true
		if p.Type != "row" && len(p.Targets) == 0 {
			t.Errorf("panel %q asks for nothing", p.Title)
		}
	}
	if len(ids) < 10 {
		t.Errorf("%d panels", len(ids))
	}
}
