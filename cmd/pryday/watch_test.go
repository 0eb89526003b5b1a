package main

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var metricName = regexp.MustCompile(`\b(?:pryday|go|process)_[a-z][a-z0-9_]*\b`)

// ownDisk is measured beside a private PostgreSQL alone; the tests of package web
// hold that.
var ownDisk = map[string]bool{"pryday_disk_free_bytes": true, "pryday_disk_low": true}

// rulesNameMetrics holds the alert rules and the dashboard against what a whole
// service measures: they ask for nothing that there is not, also among labels'
// values, and nothing of ours is measured without anybody looking at it.
func rulesNameMetrics(t *testing.T, scraped string) {
	t.Helper()
	measured, labels := map[string]bool{}, map[string]bool{}
	for _, m := range regexp.MustCompile(`(?m)^([a-z][a-z0-9_]*)(?:\{(.*)\})? \S+$`).FindAllStringSubmatch(scraped, -1) {
		measured[m[1]] = true
		for _, l := range regexp.MustCompile(`([a-z]+)="([^"]*)"`).FindAllStringSubmatch(m[2], -1) {
			labels[l[1]+"="+l[2]] = true
		}
	}
	asked := map[string]bool{}
	for _, file := range []string{"../../deploy/watch/alerts.yaml", "../../deploy/watch/dashboard.json"} {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		rules := strings.ReplaceAll(string(text), `\"`, `"`)
		for _, name := range metricName.FindAllString(rules, -1) {
			asked[name] = true
			if !measured[name] && !ownDisk[name] {
				t.Errorf("%s asks for %s, which the service does not measure", file, name)
			}
		}
		for _, l := range regexp.MustCompile(`\b(outcome|state|status|class|use)!?="([^"]*)"`).FindAllStringSubmatch(rules, -1) {
			if !labels[l[1]+"="+l[2]] {
				t.Errorf("%s asks for %s %q, which the service does not tell", file, l[1], l[2])
			}
		}
	}
	var unasked []string
	for name := range measured {
		name = regexp.MustCompile(`_(bucket|sum|count)$`).ReplaceAllString(name, "")
		if strings.HasPrefix(name, "pryday_") && !asked[name] && !asked[name+"_bucket"] {
			unasked = append(unasked, name)
		}
	}
	slices.Sort(unasked)
	// These are for looking into a matter, and stand in no picture.
	background := []string{
		"pryday_feed_cached", "pryday_feed_listener_connections_total", "pryday_feed_part_renders_total", "pryday_feed_render_failures_total", "pryday_feed_render_seconds_total", "pryday_feed_tags",
		"pryday_feed_version_queries_total", "pryday_pool_waits_total", "pryday_snapshots_total",
	}
	if !slices.Equal(slices.Compact(unasked), background) {
		t.Errorf("nobody looks at %q, and %q are meant to be so", unasked, background)
	}
}
