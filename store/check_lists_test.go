package store

import (
	"context"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
)

// listedIn says of which Go type the constants are that a CHECK lists, by table
// and column.
var listedIn = map[string]struct{ dir, name string }{
	"apiary.region":            {"../scheduler", "Region"},
	"box_place.place":          {"../scheduler", "Where"},
	"calendar_link.kind":       {".", "LinkKind"},
	"colony_event.alone_after": {"../scheduler", "Fate"},
	"colony_event.queen":       {"../scheduler", "Queen"},
	"colony_event.what":        {"../scheduler", "Fate"},
	"due.left_alone_after":     {"../scheduler", "Fate"},
	"due.reason":               {"../scheduler", "Reason"},
	"gap.at":                   {"../scheduler", "GapPlace"},
	"gap.peg":                  {"../scheduler", "Peg"},
	"hive.bee_space":           {"../scheduler", "BeeSpace"},
	"inbound_mail.outcome":     {".", "MailOutcome"},
	"inbound_mail.purpose":     {".", "MailPurpose"},
	"invitation.role":          {"../scheduler", "Role"},
	"invitation.units":         {"../scheduler/text", "Units"},
	"leave_alone.after_what":   {"../scheduler", "Fate"},
	"member.mute":              {"../scheduler", "MessageKind"},
	"member.role":              {"../scheduler", "Role"},
	"member.units":             {"../scheduler/text", "Units"},
	"message.kind":             {"../scheduler", "MessageKind"},
	"message.returned":         {".", "Return"},
	"message.state":            {".", "MessageState"},
	"opening.condition":        {"../scheduler", "Condition"},
	"opening.scraped":          {"../scheduler", "Scraped"},
	"sign_in.way":              {".", "SignInWay"},
	"told.kind":                {"../scheduler", "MessageKind"},
	"visit.duty":               {"../scheduler", "Required"},
	"visit.status":             {"../scheduler", "VisitStatus"},
	"visit_box.reason":         {"../scheduler", "Reason"},
	"visit_move.back":          {"../scheduler", "PutBack"},
}

// literals are the CHECKs whose words stand in the store's SQL alone.
var literals = []string{"leave_alone.kind", "visit.off_from", "visit_member.said", "visit_move.was_status"}

// What the database takes and what the program writes are the same words.
func TestChecksListTheConstants(t *testing.T) {
	t.Parallel()
	s := open(t)
	rows, err := s.pool.Query(context.Background(), `
		SELECT c.relname || '.' || a.attname, pg_get_constraintdef(k.oid)
		  FROM pg_constraint k
		  JOIN pg_class c ON c.oid = k.conrelid AND c.relnamespace = 'public'::regnamespace AND c.relname !~ '^(river|goose)_'
		  JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum = k.conkey[1]
		 WHERE k.contype = 'c' AND cardinality(k.conkey) = 1 ORDER BY 1`)
	if err != nil {
		t.Fatal(err)
	}
	var column, def string
	seen := map[string]bool{}
	quoted := regexp.MustCompile(`'([^']*)'::text`)
	_, err = pgx.ForEachRow(rows, []any{&column, &def}, func() error {
		if !strings.Contains(def, "ARRAY[") || slices.Contains(literals, column) {
			return nil
		}
		var words []string
		for _, m := range quoted.FindAllStringSubmatch(def, -1) {
			if m[1] != "" {
				words = append(words, m[1])
			}
		}
		if len(words) == 0 {
			return nil
		}
		seen[column] = true
		of, ok := listedIn[column]
		if !ok {
			t.Errorf("%s: no Go type is named for %s", column, def)
			return nil
		}
		want := constantsOf(t, of.dir, of.name)
		slices.Sort(words)
		if !slices.Equal(words, want) {
			t.Errorf("%s takes %q, and the constants of %s are %q: a migration must bring the CHECK up to them", column, words, of.name, want)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for column := range listedIn {
		if !seen[column] {
			t.Errorf("no CHECK lists the words of %s", column)
		}
	}
}

// constantsOf reads the string constants of a type from the source, so that a
// new one is found without being listed again. The empty one is left out.
func constantsOf(t *testing.T, dir, name string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	collect := func(n ast.Node) bool {
		spec, ok := n.(*ast.ValueSpec)
		if !ok {
			return true
		}
		if of, ok := spec.Type.(*ast.Ident); !ok || of.Name != name {
			return true
		}
		for _, v := range spec.Values {
			if lit, ok := v.(*ast.BasicLit); ok && lit.Kind == token.STRING && lit.Value != `""` {
				out = append(out, strings.Trim(lit.Value, `"`))
			}
		}
		return true
	}
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		source, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(source, collect)
	}
	slices.Sort(out)
	return out
}
