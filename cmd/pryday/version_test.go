package main

import (
	"bytes"
	"regexp"
	"runtime/debug"
	"strings"
	"testing"

	"pryday/web"
)

// The forms of the main module's version are those of go help buildvcs, and of
// https://go.dev/ref/mod#pseudo-versions.
func TestVersionLine(t *testing.T) {
	const revision = "01f188d41e7c1d9f0ab7c2ba0e36b7a8c9b5a4d3"
	for _, test := range []struct {
		name, version string
		settings      map[string]string
		want          string
	}{
		{"a tag", "v0.1.0", map[string]string{"vcs.revision": revision, "vcs.modified": "false"}, "pryday 0.1.0, revision " + revision},
		{"a tag before a release", "v1.0.0-rc.1", map[string]string{"vcs.revision": revision}, "pryday 1.0.0-rc.1, revision " + revision},
		{"after a tag", "v0.1.1-0.20261126010710-01f188d41e7c", map[string]string{"vcs.revision": revision}, "pryday (not a release), revision " + revision},
		{"no tag", "v0.0.0-20261126010710-01f188d41e7c", map[string]string{"vcs.revision": revision}, "pryday (not a release), revision " + revision},
		{"a tag, changed", "v0.1.0+dirty", map[string]string{"vcs.revision": revision, "vcs.modified": "true"}, "pryday (not a release), revision " + revision + " and changes since"},
		{"a checkout, changed", "v0.0.0-20261126010710-01f188d41e7c+dirty", map[string]string{"vcs.revision": revision, "vcs.modified": "true"}, "pryday (not a release), revision " + revision + " and changes since"},
		{"outside of a repository", "(devel)", nil, "pryday (not a release), revision unknown"},
	} {
		t.Run(test.name, func(t *testing.T) {
			info := &debug.BuildInfo{GoVersion: "go1.26.0", Main: debug.Module{Version: test.version}}
			for key, value := range test.settings {
				info.Settings = append(info.Settings, debug.BuildSetting{Key: key, Value: value})
			}
			if got := versionLine(buildOf(info)); !strings.HasPrefix(got, test.want+", go1.26.0 ") {
				t.Errorf("%q, want %q", got, test.want)
			}
		})
	}
}

func TestVersionFlag(t *testing.T) {
	var out, errs bytes.Buffer
	if status := run(t.Context(), []string{"--version"}, &terminal{out: &out, err: &errs}); status != 0 || errs.Len() > 0 {
		t.Fatalf("status %d: %s", status, errs.String())
	}
	if !regexp.MustCompile(`^pryday \S.*, go1\S+ \w+/\w+\n$`).Match(out.Bytes()) {
		t.Errorf("prints %q", out.String())
	}
}

// The log of a daemon begins with what is running.
func TestLogBeginsWithTheBuild(t *testing.T) {
	var errs bytes.Buffer
	term := &terminal{err: &errs}
	settings := daemonSettings{listen: "no such address", build: web.Build{Version: "0.1.0", Revision: "abc", Modified: true, Go: "go1.26.0"}}
	if _, err := startDaemon(t.Context(), settings, term.logger(0)); err == nil {
		t.Fatal("it listens on no address")
	}
	first, _, _ := strings.Cut(errs.String(), "\n")
	if !strings.Contains(first, "version=0.1.0 revision=abc modified=true") {
		t.Errorf("the log begins with %q", first)
	}
}
