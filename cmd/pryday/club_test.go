package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pryday/store"
	"pryday/store/storetest"
)

func TestClubsByCommand(t *testing.T) {
	t.Parallel()
	url := storetest.New(t)
	db := "--database-url=" + url
	write := func(document string) string {
		file := filepath.Join(t.TempDir(), "club.json")
		if err := os.WriteFile(file, []byte(document), 0o600); err != nil {
			t.Fatal(err)
		}
		return file
	}
	document := write(`{"club":{"name":"Old Mill","members":[{"name":"Ansel","email":"ansel@example.org","role":"organiser"},{"name":"Brida","email":"brida@example.org","role":"organiser"}]},"apiaries":[]}`)
	another := write(`{"club":{"name":"Elsewhere","members":[{"name":"Ansel","email":"ansel@example.org","role":"organiser"},{"name":"Dorrit","email":"dorrit@example.org","role":"organiser"}]},"apiaries":[]}`)
	type step struct {
		typed string
		args  []string
		exit  int
		says  string
	}
	try := func(steps ...step) {
		t.Helper()
		for _, step := range steps {
			var out bytes.Buffer
			exit := run(t.Context(), step.args, &terminal{in: strings.NewReader(step.typed), out: &out, err: &out, now: leapDay})
			if said := out.String(); exit != step.exit || !strings.Contains(said, step.says) {
				t.Errorf("%v: %d, %q, want %d, %q", step.args, exit, said, step.exit, step.says)
			}
		}
	}
	try(
		step{"", []string{"import", db, document}, 0, "Old Mill"},
		step{"", []string{"import", db, another}, 0, "Elsewhere"},
		step{"", []string{"member", "list", db, "--club=Elsewhere", "--format=json"}, 0, "dorrit@"},
		step{"", []string{"member", "add", db, "--club=Elsewhere", "Brida", "brida@example.org"}, 0, "after saying yes"},
		step{"", []string{"member", "add", db, "--club=Elsewhere", "Doris", "DORRIT@example.org"}, 1, "dorrit@example.org is the address of Dorrit, who is a member already"},
		step{"", []string{"member", "add", db, "--club=Elsewhere", "Heiner", "heiner@example.org", "--language=xx"}, 1, `--language "xx": this language is not there yet; there are: en, de`},
		step{"", []string{"member", "add", db, "--club=Elsewhere", "Heiner", "heiner@example.org", "--language=DE"}, 0, "Heiner is a member now"},
		step{"", []string{"member", "sign-in", db, "heiner@example.org"}, 0, "give the one that people reach with --public-url"},
		step{"", []string{"member", "sign-in", db, "heimer@example.org"}, 1, `nobody has the address "heimer@example.org"`},
		step{"", []string{"export", db, "--club=Elsewhere"}, 0, `"language": "de"`},
		step{"", []string{"member", "remove", db, "--club=Elsewhere", "heiner@example.org"}, 0, "no longer a member"},
	)
	s, err := store.Open(t.Context(), store.Config{URL: storetest.Serving(url), Apart: true})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	ansel, err := s.PersonByEmail(t.Context(), "ansel@example.org")
	if err != nil {
		t.Fatal(err)
	}
	err = s.InClub(t.Context(), 2, func(tx *store.Tx) error {
		_, err := tx.Accept(t.Context(), ansel.ID)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	try([]step{
		{"", []string{"club", "list", db}, 0, "Elsewhere"},
		{"", []string{"club", db}, 0, "Elsewhere"},
		{"", []string{"member", db, "--club=Elsewhere"}, 0, "Dorrit"},
		{"", []string{"link", db, "--club=Elsewhere"}, 0, ""},
		{"", []string{"club", "list", db, "--format=json"}, 0, `"members": 2`},
		{"", []string{"club", "rename", db, "Old Mill", "Elsewhere"}, 1, "already"},
		{"", []string{"club", "rename", db, "Old Mill", strings.Repeat("x", 81)}, 1, "1 to 80 characters"},
		{"", []string{"club", "rename", db, "Old Mill", "New Mill"}, 0, "New Mill"},
		{"", []string{"club", "remove", db, "Old Mill"}, 1, "Old Mill"},
		{"new mill\n", []string{"club", "remove", db, "New Mill"}, 1, "nothing was changed"},
		{"", []string{"club", "list", db}, 0, "New Mill"},
		{"New Mill\n", []string{"club", "remove", db, "New Mill"}, 0, "is gone"},
		{"", []string{"person", "data", db, "brida@example.org"}, 1, "nobody has the address"},
		{"", []string{"person", "data", db, "ansel@example.org"}, 0, `"club": "Elsewhere"`},
		{"", []string{"person", "erase", db, "ansel@example.org"}, 1, "nothing was changed"},
		{"Ansel@example.org\n", []string{"person", "erase", db, "ansel@example.org"}, 1, "nothing was changed"},
		{"ansel@example.org\n", []string{"person", "erase", db, "ANSEL@example.org"}, 0, "any more"},
		{"", []string{"person", "erase", db, "--yes", "dorrit@example.org"}, 1, "the last organiser of Elsewhere"},
		{"", []string{"club", "remove", db, "--yes", "Elsewhere"}, 0, "is gone"},
		{"", []string{"person", "data", db, "dorrit@example.org"}, 1, "nobody has the address"},
	}...)
}
