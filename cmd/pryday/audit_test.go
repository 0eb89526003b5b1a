package main

import (
	"bytes"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"pryday/store/storetest"
)

// What commands do stands in the trail with who gave them, and a backup brings
// the chain back; whoever changes it past the service is found out.
func TestAuditOfCommands(t *testing.T) {
	t.Parallel()
	url := storetest.New(t)
	dir := t.TempDir()
	doc := dir + "/club.json"
	document := `{"club":{"name":"Old Mill","members":[{"name":"Ansel","email":"ansel@example.org","role":"organiser"}]},"apiaries":[]}`
	if err := os.WriteFile(doc, []byte(document), 0o600); err != nil {
		t.Fatal(err)
	}
	command := func(t *testing.T, args ...string) (exit int, out, errs string) {
		var o, e bytes.Buffer
		exit = run(t.Context(), args, &terminal{in: strings.NewReader(""), out: &o, err: &e, now: leapDay})
		return exit, o.String(), e.String()
	}
	for _, line := range [][]string{
		{"import", doc},
		{"member", "add", "Brida Okonjo", "brida@example.org"},
		{"link", "add", "brida@example.org"},
		{"link", "revoke", "1"},
		{"export", "-o", dir + "/out.json"},
		{"member", "sign-in", "brida@example.org"},
		{"person", "data", "brida@example.org"},
		{"member", "remove", "brida@example.org"},
		{"backup", dir + "/all.backup"},
	} {
		if status, _, errs := command(t, append(line, "--database-url", url)...); status != 0 {
			t.Fatalf("%q: %s", line, errs)
		}
	}
	const deeds = "import records, invite member, make calendar address, revoke calendar address, export records, make sign-in address, take own data along, remove member, make backup"
	sql := func(url, query string) (out string) {
		conn, err := pgx.Connect(t.Context(), url)
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close(t.Context())
		if err := conn.QueryRow(t.Context(), query).Scan(&out); err != nil {
			t.Fatalf("%s: %v", query, err)
		}
		return out
	}
	if got := sql(url, `SELECT string_agg(action, ', ' ORDER BY number) FROM audit`); got != deeds {
		t.Errorf("the trail says %q, want %q", got, deeds)
	}
	if got := sql(url, `SELECT string_agg(DISTINCT command, ', ') FROM audit`); got != whoTypes() {
		t.Errorf("by %q, want %q", got, whoTypes())
	}
	if got := sql(url, `SELECT coalesce(string_agg(subject, ', '), '') FROM audit WHERE subject ~ '/|@' OR detail::text ~ '/|@'`); got != "" {
		t.Errorf("an address or a folder stands in the trail: %s", got)
	}
	status, out, errs := command(t, "audit", "verify", "--database-url", url)
	hash := regexp.MustCompile(`[0-9a-f]{64}`).FindString(out)
	if status != 0 || hash == "" || !strings.Contains(out, "9 lines: each is as it was written") || !strings.Contains(out, "no. 9") {
		t.Fatalf("%d %s %s", status, out, errs)
	}
	restored := storetest.New(t)
	if status, _, errs := command(t, "restore", dir+"/all.backup", "--database-url", restored); status != 0 {
		t.Fatal(errs)
	}
	if got := sql(restored, `SELECT action FROM audit WHERE number = 9`); got != "restore backup" {
		t.Errorf("line 9 of what was restored: %q", got)
	}
	if status, out, errs := command(t, "audit", "verify", "--database-url", restored); status != 0 || !strings.Contains(out, "9 lines") {
		t.Errorf("restored: %d %s %s", status, out, errs)
	}
	if status, _, errs := command(t, "audit", "verify", "--last", hash, "--database-url", url); status != 0 {
		t.Errorf("the newest: %s", errs)
	}
	if status, _, errs := command(t, "audit", "verify", "--last", strings.Repeat("0", 64), "--database-url", url); status != 1 || !strings.Contains(errs, "no trail has the entry 0000") {
		t.Errorf("another: %d %s", status, errs)
	}
	if status, _, errs := command(t, "audit", "verify", "--last", "12ab", "--database-url", url); status != 1 || !strings.Contains(errs, `"12ab"`) {
		t.Errorf("no hash: %d %s", status, errs)
	}
	sql(url, `UPDATE audit SET subject = 'x' WHERE number = 3 RETURNING subject`)
	if status, out, _ := command(t, "audit", "verify", "--database-url", url); status != 1 || !strings.Contains(out, "no. 3 of ") {
		t.Errorf("changed: %d %s", status, out)
	}
}
