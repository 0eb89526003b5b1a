package main

import (
	"context"
	"fmt"
	"os/exec"
	"regexp"
	"strconv"
)

// peers runs the benchmarks that measure against other programs.
func peers(ctx context.Context, _ *bed, t *table) error {
	for _, p := range []struct {
		what, against, pkg, name, unit string
		limit                          float64
	}{
		{"a calendar of 400 events that was not changed (304)", "nginx", "./web", "BenchmarkFeedAgainstNginx/304", "x-nginx", .7},
		{"a calendar of 400 events (200)", "nginx", "./web", "BenchmarkFeedAgainstNginx/200", "x-nginx", .85},
		{"messages rendered and delivered", "smtp-source", "./notify", "BenchmarkAgainstSource", "x-smtp-source", .5},
	} {
		if !t.wants(p.what) {
			continue
		}
		out, err := exec.CommandContext(ctx, "go", "test", "-tags", "postfix", "-run", "^$", "-bench", "^"+p.name+"$", "-benchtime", "1x", p.pkg).CombinedOutput()
		if err != nil {
			return fmt.Errorf("%s: %w (deploy/setup bench installs what it needs)\n%s", p.name, err, out)
		}
		m := regexp.MustCompile(`([0-9.]+) ` + p.unit + `\s`).FindSubmatch(out)
		if m == nil {
			return fmt.Errorf("%s says nothing of %s:\n%s", p.name, p.unit, out)
		}
		got, err := strconv.ParseFloat(string(m[1]), 64)
		if err != nil {
			return err
		}
		t.add(row{what: p.what, against: p.against, got: got, unit: "x", limit: p.limit, least: true})
	}
	return nil
}
