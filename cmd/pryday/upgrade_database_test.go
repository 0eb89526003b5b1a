package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pryday/store"
	"pryday/store/localpg"
)

// upgrade takes a house to the next version of PostgreSQL, for which a program
// stands that claims to be of it (store/localpg tests a real one where there is
// one): the records are the same, people stay signed in, the old data is kept.
func upgrade(t *testing.T, h house, export string) {
	t.Helper()
	t.Setenv("PRYDAY_POSTGRES_BIN", claimsToBeNewer(t, filepath.Join(filepath.Dir(h.state), "newer")))
	said := h.run(t, "upgrade-database")
	kept := regexp.MustCompile(`is kept in (\S+):`).FindStringSubmatch(said)
	if kept == nil {
		t.Fatalf("it does not say where the old data is: %s", said)
	}
	if _, err := os.Stat(filepath.Join(kept[1], "PG_VERSION")); err != nil {
		t.Error(err)
	}
	t.Setenv("PRYDAY_POSTGRES_BIN", "") // what it wrote is of the real version
	if left, _ := filepath.Glob(filepath.Join(h.state, "upgrade-*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	pg, err := localpg.Start(t.Context(), localpg.Options{StateDir: h.state})
	if err != nil {
		t.Fatal(err)
	}
	defer pg.Stop(t.Context())
	if got := h.run(t, "export"); got != export {
		t.Error("after the upgrade the export is another one")
	}
	s, err := store.Open(t.Context(), store.Config{URL: pg.Addresses().Serving, Apart: true, MaxConns: 2})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	clubs, err := s.ClubIDs(t.Context())
	if err != nil || len(clubs) == 0 {
		t.Fatalf("clubs %v: %v", clubs, err)
	}
	if err := s.InSnapshot(t.Context(), clubs[0], func(tx *store.Tx) error {
		trail, err := tx.AuditTrail(t.Context(), 0, 0, 5)
		if !slices.ContainsFunc(trail, func(e store.AuditEntry) bool {
			return e.Action == "upgrade database" && strings.HasPrefix(e.Subject, "PostgreSQL 1") && e.Command != ""
		}) {
			t.Errorf("the upgrade is not in the trail: %+v", trail)
		}
		return err
	}); err != nil {
		t.Error(err)
	}
	if _, signedIn, err := s.Sessions().Find("signed-in"); err != nil || !signedIn {
		t.Errorf("people were signed out: %v", err)
	}
}

// claimsToBeNewer makes programs that say that they are of the version after the
// installed one's, and run that.
func claimsToBeNewer(t *testing.T, dir string) string {
	t.Helper()
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/postgres")
	if given := os.Getenv("PRYDAY_POSTGRES_BIN"); given != "" {
		found = []string{filepath.Join(given, "postgres")}
	}
	if path, err := exec.LookPath("postgres"); len(found) == 0 && err == nil {
		found = []string{path}
	}
	if len(found) == 0 {
		t.Fatal("the tests need a PostgreSQL")
	}
	installed := found[len(found)-1]
	out, err := exec.Command(installed, "--version").Output()
	if err != nil {
		t.Fatal(err)
	}
	major, err := strconv.Atoi(regexp.MustCompile(`[0-9]+`).FindString(strings.TrimPrefix(string(out), "postgres (PostgreSQL) ")))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"postgres", "initdb"} {
		script := fmt.Sprintf("#!/bin/sh\ncase $1 in --version) echo '%s (PostgreSQL) %d.0'; exit;; esac\nexec %s/%s \"$@\"\n",
			name, major+1, filepath.Dir(installed), name)
		if err := os.WriteFile(filepath.Join(dir, name), []byte(script), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}
