package main

import (
	"bytes"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"pryday/store"
	"pryday/store/storetest"
)

// TestTwoLogins: what needs the owner of the records says so, what does not works
// with the login that serves, and two addresses that are one are refused.
func TestTwoLogins(t *testing.T) {
	t.Setenv("LC_ALL", "C")
	own := storetest.New(t)
	serves := storetest.Serving(own)
	file := filepath.Join(t.TempDir(), "all.backup")
	const apart = "give the owner's address in PRYDAY_OWNER_URL"
	for _, c := range []struct {
		name string
		args []string
		says string // of the error; empty where it works
	}{
		{"one address, the owner's", []string{"migrate", "--database-url", own}, ""},
		{"one address, the owner's, for what serves", []string{"club", "list", "--database-url", own}, ""},
		{"two", []string{"migrate", "--database-url", serves, "--owner-url", own}, ""},
		{"two, for what serves", []string{"club", "list", "--database-url", serves, "--owner-url", own}, ""},
		{"what serves needs no owner", []string{"club", "list", "--database-url", serves}, ""},
		{"two, for a backup", []string{"backup", file, "--database-url", serves, "--owner-url", own}, ""},
		{"two, for keys", []string{"keys", "rotate", "--keep", "30", "--database-url", serves, "--owner-url", own}, ""},
		{"two that are one", []string{"club", "list", "--database-url", own, "--owner-url", own}, "can become the owner"},
		{"the owner alone", []string{"club", "list", "--owner-url", own}, "needs PRYDAY_DATABASE_URL beside it"},
		{"migrating as what serves", []string{"migrate", "--database-url", serves}, apart},
		{"a backup as what serves", []string{"backup", file + "2", "--database-url", serves}, apart},
		{"restoring as what serves", []string{"restore", file, "--database-url", serves}, apart},
		{"keys as what serves", []string{"keys", "rotate", "--database-url", serves}, apart},
		{"listing keys as what serves", []string{"keys", "list", "--database-url", serves}, apart},
		{"daily backups as what serves", []string{"serve", "--listen", "127.0.0.1:0", "--database-url", serves, "--backup-dir", t.TempDir()}, apart},
		{"keys for too long", []string{"keys", "rotate", "--keep", "401", "--database-url", own}, "between 0 and 400"},
	} {
		var out, errs bytes.Buffer
		status := run(t.Context(), c.args, &terminal{in: strings.NewReader(""), out: &out, err: &errs, now: leapDay})
		if (status == 0) != (c.says == "") || !strings.Contains(errs.String(), c.says) {
			t.Errorf("%s: status %d: %s, want %q", c.name, status, &errs, c.says)
		}
	}
}

func TestKeysRotateAndList(t *testing.T) {
	t.Setenv("LC_ALL", "C")
	url := storetest.New(t)
	lines := func(args ...string) []string {
		t.Helper()
		var out, errs bytes.Buffer
		if status := run(t.Context(), append(args, "--database-url", url), &terminal{in: strings.NewReader(""), out: &out, err: &errs, now: leapDay}); status != 0 {
			t.Fatalf("%q: %s", args, &errs)
		}
		return strings.Split(strings.TrimRight(out.String(), "\n"), "\n")
	}
	s, err := store.Open(t.Context(), store.Config{URL: storetest.Serving(url), Apart: true, MaxConns: 1})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if _, err := s.Keys(t.Context(), "mailed addresses"); err != nil {
		t.Fatal(err)
	}
	signs, until := regexp.MustCompile(`^mailed addresses +20\S+ \S+ \S+ +signs$`), regexp.MustCompile(`^mailed addresses +20\S+ \S+ \S+ +is known until 20\S+ \S+ \S+$`)
	if got := lines("keys", "list"); len(got) != 1 || !signs.MatchString(got[0]) {
		t.Errorf("lists %q", got)
	}
	got := lines("keys", "rotate", "--keep", "30")
	if len(got) != 3 || !strings.HasPrefix(got[0], "There are new keys: what the keys of before signed goes on working until ") || !signs.MatchString(got[1]) || !until.MatchString(got[2]) {
		t.Errorf("rotating says %q", got)
	}
	if got := lines("keys", "rotate", "--keep", "0"); len(got) != 2 || !strings.Contains(got[0], "nothing that the keys of before signed works any more") || !signs.MatchString(got[1]) {
		t.Errorf("ending them says %q", got)
	}
}
