package main

import (
	"io"
	"strings"
	"testing"

	"pryday/scheduler/text"
)

// The order of the variables is POSIX's (IEEE Std 1003.1, XBD 8.2, from memory).
func TestLocale(t *testing.T) {
	for _, tc := range []struct {
		name string
		env  map[string]string
		want string
	}{
		{"none", nil, ""},
		{"the C locale", map[string]string{"LANG": "C.UTF-8"}, ""},
		{"POSIX", map[string]string{"LC_ALL": "POSIX", "LANG": "de_DE"}, ""},
		{"LANG alone", map[string]string{"LANG": "de_AT.UTF-8"}, "de-AT"},
		{"messages over LANG", map[string]string{"LANG": "en_GB", "LC_MESSAGES": "de_DE@euro"}, "de-DE"},
		{"all over messages", map[string]string{"LC_ALL": "en_US.UTF-8", "LC_MESSAGES": "de_DE"}, "en-US"},
		{"an empty one does not count", map[string]string{"LC_ALL": "", "LANG": "de_DE"}, "de-DE"},
	} {
		if got := locale(func(name string) string { return tc.env[name] }); got != tc.want {
			t.Errorf("%s: %q, want %q", tc.name, got, tc.want)
		}
	}
}

// TestCommandsSpeak: what a command prints and complains of is in the language
// of whoever typed it; what programs read never is.
func TestCommandsSpeak(t *testing.T) {
	german := func(args ...string) (int, string, string) {
		var out, errs strings.Builder
		term := &terminal{in: strings.NewReader(""), out: &out, err: &errs, now: leapDay, say: *text.In("de-DE", "")}
		code := run(t.Context(), args, term)
		return code, out.String(), errs.String()
	}
	plan := []string{"plan", "--records", "../../testdata/demo.json", "--today", "2027-05-01"}
	code, said, _ := german(plan...)
	for _, want := range []string{"Sa, 8. Mai 2027  Upper Pasture, fest, ", "jede Zarge einmal in dieser Jahreszeit", "weil die Chance, dass sie schwer aufgeht, 1 von 5 überstiegen hat"} {
		if code != 0 || !strings.Contains(said, want) {
			t.Errorf("the plan (%d) does not say %q", code, want)
		}
	}
	_, machine, _ := german(append(plan, "--format", "json")...)
	var english strings.Builder
	run(t.Context(), append(plan, "--format", "json"), &terminal{out: &english, err: io.Discard, now: leapDay})
	if machine != english.String() || len(machine) < 1000 {
		t.Error("a document for programs depends on the language")
	}
	if code, _, said := german("season", "--latitude", "91"); code != 1 || said != "pryday: --latitude „91“: Es müssen -90 bis 90 Grad sein, mit Punkt wie in 50.5\n" {
		t.Errorf("%d, %q", code, said)
	}
	if _, said, _ := german("season", "--latitude", "47.5", "--year", "2027"); !strings.Contains(said, "bei 47,5 Grad Nord") || !strings.Contains(said, "Spätsommer  ab 3. August 2027") {
		t.Errorf("the season is said as %q", said)
	}
}
