//go:build clients

package deploy

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// program is one that deploy/setup soak brings.
func program(t *testing.T, name string) string {
	t.Helper()
	if own, err := filepath.Abs(filepath.Join("..", "bin", "peers", name)); err == nil {
		if _, err := os.Stat(own); err == nil {
			return own
		}
	}
	path, err := exec.LookPath(name)
	if err != nil {
		t.Fatalf("%v: deploy/setup soak brings it", err)
	}
	return path
}

// Prometheus itself reads the rules, and finds each alert going off when it
// should, and none on a good day.
func TestPrometheusTriesTheRules(t *testing.T) {
	promtool := program(t, "promtool")
	for _, args := range [][]string{
		{"check", "config", "watch/prometheus.yaml"},
		{"test", "rules", "watch/alerts_test.yaml"},
	} {
		if out, err := exec.Command(promtool, args...).CombinedOutput(); err != nil {
			t.Errorf("promtool %q: %v\n%s", args, err, out)
		}
	}
}

// The unit does its work under a systemd of its own, with everything that it forbids.
func TestUnitUnderSystemd(t *testing.T) {
	built := filepath.Join(t.TempDir(), "pryday")
	if out, err := exec.Command("go", "build", "-trimpath", "-o", built, "pryday/cmd/pryday").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	out, err := exec.Command("./try-unit", built, "../testdata/demo.json").CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	for _, want := range []string{"ready: ready\n", "set-up: 303\n", "upload: 303\n", "ready after a kill: ready\n", "stopped: success, 0 left\n", "made the daily backup"} {
		if !strings.Contains(string(out), want) {
			t.Errorf("it does not say %q: %s", want, out)
		}
	}
}

// What the unit leaves open, by systemd's own count, of 10.
func TestUnitIsClosed(t *testing.T) {
	const most = 1.5
	out, err := exec.Command(program(t, "systemd-analyze"), "security", "--offline=true", "--no-pager", "pryday.service").CombinedOutput()
	m := regexp.MustCompile(`Overall exposure level for pryday.service: ([0-9.]+)`).FindSubmatch(out)
	if err != nil || m == nil {
		t.Fatalf("%v: %s", err, out)
	}
	level, err := strconv.ParseFloat(string(m[1]), 64)
	if err != nil || level > most {
		t.Errorf("the unit leaves %s open, of at most %g (%v)\n%s", m[1], most, err, out)
	}
	t.Logf("the unit leaves %s open", m[1])
}
