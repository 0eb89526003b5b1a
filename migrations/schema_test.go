package migrations_test

import (
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"pryday/store/storetest"
)

var update = flag.Bool("update", false, "write the schema dump anew")

// The dump is for readers: what all migrations together come to. Its wording
// differs between versions of Postgres, its objects do not.
func TestSchemaDump(t *testing.T) {
	got := dump(t, storetest.New(t))
	if *update {
		if err := os.WriteFile("schema.sql", []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	text, err := os.ReadFile("schema.sql")
	if err != nil {
		t.Fatal(err)
	}
	want := string(text)
	version := regexp.MustCompile(`(?m)^-- Postgres \d+$`)
	if version.FindString(got) != version.FindString(want) {
		t.Logf("this is %q and the dump was made by %q: comparing the objects alone", version.FindString(got), version.FindString(want))
		got, want = objects(got), objects(want)
	}
	if got != want {
		t.Errorf("schema.sql is not what the migrations make; run this test with -update and look at the difference")
	}
}

func objects(dump string) string {
	names := regexp.MustCompile(`(?m)^-- Name: .*; Type: (TABLE|FUNCTION|POLICY|CONSTRAINT|FK CONSTRAINT|INDEX|ROW SECURITY|CHECK CONSTRAINT);.*$`).FindAllString(dump, -1)
	return strings.Join(names, "\n")
}

// versionSpecific is what a dump says of the programs that made it, and the
// job engine's tables, which are not ours to read.
var versionSpecific = regexp.MustCompile(`(?m)^(-- Dumped .*|\\(un)?restrict .*|SET transaction_timeout = 0;|-- PostgreSQL database dump.*|--)\n`)

func dump(t *testing.T, url string) string {
	t.Helper()
	cfg, err := pgx.ParseConfig(url)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(pgDump(t), "--schema-only", "--no-owner", "--exclude-table=river_*", "--exclude-table=goose_*", "--dbname="+url)
	out, err := cmd.Output()
	if err != nil {
		if exit, ok := err.(*exec.ExitError); ok {
			t.Logf("%s", exit.Stderr)
		}
		t.Fatalf("dump the schema: %v", err)
	}
	text := versionSpecific.ReplaceAllString(string(out), "")
	text = strings.ReplaceAll(text, "FOR ROLE "+cfg.User+" ", "")
	text = regexp.MustCompile(`\n{3,}`).ReplaceAllString(text, "\n\n")
	major := regexp.MustCompile(`Dumped from database version (\d+)`).FindStringSubmatch(string(out))
	return "-- What all migrations together come to, for readers. A test writes it; the\n" +
		"-- job engine's tables are left out.\n-- Postgres " + major[1] + "\n" + text
}

// pgDump finds the program, which packages put where the server is.
func pgDump(t *testing.T) string {
	t.Helper()
	if path, err := exec.LookPath("pg_dump"); err == nil {
		return path
	}
	for _, pattern := range []string{"/usr/lib/postgresql/*/bin/pg_dump", "/opt/homebrew/opt/postgresql*/bin/pg_dump"} {
		if found, _ := filepath.Glob(pattern); len(found) > 0 {
			return found[len(found)-1]
		}
	}
	t.Fatal("there is no pg_dump; it comes with the Postgres server")
	return ""
}
