package migrations_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pryday/migrations"
	"pryday/store/storetest"
)

// firstServed is the migration since which programs know of served_since.
const firstServed = 42

// additive lists the migrations that a daemon of the version before may serve
// while and after they are applied, each with the reason. All others give
// served_since their own number.
var additive = map[int]string{
	45: "three columns with a default; a program of before leaves them alone, and shows such days without their reason",
	46: "three columns that may be empty; a program of before leaves them alone, and a later one then works out what they would have spared it",
	47: "an index that nobody of before asks for",
	48: "an index that nobody of before asks for",
}

// TestEachMigrationSaysWhoMayServe holds the list against the files.
func TestEachMigrationSaysWhoMayServe(t *testing.T) {
	files, err := filepath.Glob("0*.sql")
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, name := range files {
		n, err := strconv.Atoi(name[:5])
		if err != nil {
			t.Fatal(err)
		}
		if n < firstServed {
			continue
		}
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		seen++
		up, _, _ := strings.Cut(string(text), "-- +goose Down")
		for _, wrong := range faultsOf(n, up, additive[n]) {
			t.Errorf("%s: %s", name, wrong)
		}
	}
	if seen == 0 {
		t.Errorf("no migration since %d", firstServed)
	}
}

var (
	servesSince = regexp.MustCompile(`FUNCTION served_since\(\)[^;]*'SELECT (\d+)::bigint'`)
	// more is what takes something away from who knows the schema of before, or asks
	// more of what it writes.
	more = regexp.MustCompile(`(?i)\b(DROP|RENAME|REVOKE (?:ALL|SELECT|INSERT|UPDATE|DELETE)|SET NOT NULL|ALTER (?:COLUMN \w+ )?TYPE|TRUNCATE|DISABLE|CREATE POLICY|CREATE TRIGGER|CREATE CONSTRAINT TRIGGER|CREATE UNIQUE INDEX|ADD CONSTRAINT)\b`)
	// needed is a new column without which no row can be written.
	needed = regexp.MustCompile(`(?i)\bADD COLUMN [^,;]*NOT NULL(?:[^,;]*)`)
)

// faultsOf says what is wrong with what a migration says of who may serve.
func faultsOf(n int, up, reason string) (wrong []string) {
	says := servesSince.FindStringSubmatch(up)
	if reason == "" {
		if says == nil || says[1] != strconv.Itoa(n) {
			wrong = append(wrong, fmt.Sprintf("is not in the list of additive ones, and does not say served_since %d", n))
		}
		return wrong
	}
	if says != nil {
		wrong = append(wrong, "is in the list of additive ones, and says served_since as well")
	}
	// A table made here is nobody's of before.
	own := regexp.MustCompile(`(?is)CREATE TABLE .*?;`).ReplaceAllString(up, "")
	// An index that a build broken off left is taken out and made anew.
	for _, name := range regexp.MustCompile(`(?i)CREATE INDEX CONCURRENTLY (\w+)`).FindAllStringSubmatch(own, -1) {
		own = strings.ReplaceAll(own, "DROP INDEX CONCURRENTLY IF EXISTS "+name[1]+";", "")
	}
	for _, word := range more.FindAllString(own, -1) {
		if !strings.EqualFold(word, "CREATE POLICY") {
			wrong = append(wrong, fmt.Sprintf("is in the list of additive ones, and has %q", word))
		}
	}
	for _, column := range needed.FindAllString(own, -1) {
		if !strings.Contains(strings.ToUpper(column), "DEFAULT") {
			wrong = append(wrong, fmt.Sprintf("is in the list of additive ones, and %q has no default", column))
		}
	}
	return wrong
}

// TestAdditiveIsHeld tries what the test of the list finds.
func TestAdditiveIsHeld(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		up, reason string
		wrong      int
	}{
		{`ALTER TABLE club ADD COLUMN motto text`, "a column that nobody of before writes", 0},
		{`ALTER TABLE club ADD COLUMN motto text NOT NULL DEFAULT ''`, "the same", 0},
		{`ALTER TABLE club ADD COLUMN motto text NOT NULL`, "the same", 1},
		{`ALTER TABLE club DROP COLUMN name`, "nothing", 1},
		{`ALTER TABLE club RENAME COLUMN name TO title`, "nothing", 1},
		{`CREATE TABLE motto (club_id bigint UNIQUE, words text NOT NULL); CREATE POLICY one_club ON motto USING (true)`, "a table of its own", 0},
		{`DROP INDEX CONCURRENTLY IF EXISTS motto; CREATE INDEX CONCURRENTLY motto ON club (name)`, "an index", 0},
		{`DROP INDEX CONCURRENTLY IF EXISTS other; CREATE INDEX CONCURRENTLY motto ON club (name)`, "an index", 1},
		{`ALTER TABLE club ADD COLUMN motto text`, "", 1},
		{`CREATE OR REPLACE FUNCTION served_since() RETURNS bigint LANGUAGE sql IMMUTABLE AS 'SELECT 90::bigint'`, "", 0},
		{`CREATE OR REPLACE FUNCTION served_since() RETURNS bigint LANGUAGE sql IMMUTABLE AS 'SELECT 89::bigint'`, "", 1},
	} {
		if got := faultsOf(90, c.up, c.reason); len(got) != c.wrong {
			t.Errorf("%s: %q, want %d faults", c.up, got, c.wrong)
		}
	}
}

// TestNeighboursServe: a program may serve what came after it as long as that
// only added, and refuses the rest.
func TestNeighboursServe(t *testing.T) {
	t.Parallel()
	ctx, url := context.Background(), storetest.New(t)
	pool := connect(t, url)
	next := migrations.Latest() + 1
	if _, err := pool.Exec(ctx, `INSERT INTO goose_db_version (version_id, is_applied) VALUES ($1, true)`, next); err != nil {
		t.Fatal(err)
	}
	if err := migrations.Check(ctx, pool); err != nil {
		t.Errorf("after an addition: %v", err)
	}
	if _, err := pool.Exec(ctx, fmt.Sprintf(`CREATE OR REPLACE FUNCTION served_since() RETURNS bigint LANGUAGE sql IMMUTABLE AS 'SELECT %d::bigint'`, next)); err != nil {
		t.Fatal(err)
	}
	if err := migrations.Check(ctx, pool); !errors.Is(err, migrations.ErrSchemaNewer) {
		t.Errorf("after more than an addition: %v", err)
	}
}
