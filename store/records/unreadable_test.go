package records

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

func TestUnreadableDocuments(t *testing.T) {
	for _, tt := range []struct {
		name, doc    string
		line, column int
		says         string
	}{
		{"empty", "", 1, 1, "unexpected end of JSON input"},
		{"cut off", "{\n \"club\": {", 2, 10, "unexpected end of JSON input"},
		{"comma too many", "{\"apiaries\": [\n1,\n]}", 3, 1, "invalid character ']'"},
		{"comma missing", "{\"a\": 1\n \"b\": 2}", 2, 2, "invalid character '\"'"},
		{"more behind the end", "{}\n{}", 2, 1, "after top-level value"},
		{"single quotes", "{'club': 1}", 1, 2, "invalid character"},
		{"a comment", "{\n// ours\n}", 2, 1, "invalid character '/'"},
		{"not UTF-8", "{\"club\":\n\"\xe9\"}", 2, 2, "byte 0xe9 is not UTF-8"},
		{"UTF-16", "\xff\xfe{\x00}\x00", 1, 1, "byte 0xff is not UTF-8"},
		{"too deep", strings.Repeat("[", 50) + strings.Repeat("]", 50), 1, 34, "nested more than 32 deep"},
		{"a list", "[]", 1, 1, "an object { ... }"},
		{"a text", " \"club\"", 1, 2, "an object { ... }"},
		{"column in characters", `{"club": {"name": "Übersee", "members": 1}, "apiaries": []}`, 1, 41, "club.members: 1 is of the wrong kind"},
		{"column behind a byte order mark", "\ufeff{\"club\": 1, \"apiaries\": []}", 1, 10, "club: 1"},
	} {
		_, err := Parse([]byte(tt.doc))
		var ps Problems
		if !errors.As(err, &ps) {
			t.Errorf("%s: got %v", tt.name, err)
			continue
		}
		saidInGerman(t, ps)
		if ps[0].Line != tt.line || ps[0].Column != tt.column || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("%s: got %v, want line %d, column %d: %s", tt.name, err, tt.line, tt.column, tt.says)
		}
	}
}

func TestObjectsOfAnySizeEnd(t *testing.T) {
	var b strings.Builder
	for i := range 100_000 {
		fmt.Fprintf(&b, `"k%d": 1, `, i)
	}
	_, err := Parse([]byte(`{` + b.String() + `"z": 1}`))
	if err == nil || !strings.Contains(err.Error(), "more than 100 keys") {
		t.Errorf("got %.200v", err)
	}
}

func TestManyProblemsAreCounted(t *testing.T) {
	several := strings.NewReplacer(`44.1`, `144.1`, `"joint": 2`, `"joint": 9`, `"bee_space": "top"`, `"bees": 3`, `"mm": 8.5`, `"mm": -1`).Replace(example)
	_, err := Parse([]byte(several))
	var ps Problems
	if !errors.As(err, &ps) || len(ps) != 4 || !strings.HasPrefix(err.Error(), "4 problems:\n  line 13, ") {
		t.Fatalf("got %v", err)
	}
	for i, path := range []string{"apiaries[0].latitude", "apiaries[0].hives[0].bees", "apiaries[0].hives[0].boxes[0].openings[0].joint", "apiaries[0].hives[0].boxes[0].openings[0].gaps[0].mm"} {
		if ps[i].Path != path {
			t.Errorf("problem %d is %v, want %s", i, ps[i], path)
		}
	}
	for _, tt := range []struct {
		n             int
		first, ending string
	}{
		{21, "21 problems:", "and 1 more"},
		{5000, "1000 problems or more:", "and 980 more"},
	} {
		_, err := Parse([]byte(`{"club": {"name": "a", "members": []}, "apiaries": [` + strings.Repeat(`"apiary",`, tt.n-1) + `1]}`))
		if err == nil || !strings.HasPrefix(err.Error(), tt.first) || !strings.HasSuffix(err.Error(), tt.ending) || strings.Count(err.Error(), "\n") != 21 {
			t.Errorf("%d problems: got %v", tt.n, err)
		}
	}
}
