package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pryday/scheduler"
	"pryday/store/storetest"
)

func TestBrokenImportChangesNothing(t *testing.T) {
	database := storetest.New(t)
	good := nearClub(scheduler.NewDate(2027, 5, 1))
	for name, c := range map[string]struct{ from, to, place string }{
		"not JSON":     {`{"apiaries"`, `{"apiaries`, "line 1"},
		"wrong kind":   {`"latitude":-1.2`, `"latitude":"north"`, "apiaries[0].latitude"},
		"out of range": {`"joint":3`, `"joint":7`, "apiaries[0].hives[0].boxes[0].openings[0].joint"},
		"no such zone": {`"timezone":"Africa/Nairobi"`, `"timezone":"Africa/Atlantis"`, "timezone"},
		"unknown key":  {`"elevation_m"`, `"height"`, "apiaries[0].height"},
		"unknown kind": {`"kind":"medium"`, `"kind":"huge"`, "apiaries[0].hives[0].boxes[1].kind"},
	} {
		t.Run(name, func(t *testing.T) {
			broken := strings.Replace(string(good), c.from, c.to, 1)
			if broken == string(good) {
				t.Fatalf("%q is not in the document", c.from)
			}
			file := filepath.Join(t.TempDir(), "club.json")
			if err := os.WriteFile(file, []byte(broken), 0o600); err != nil {
				t.Fatal(err)
			}
			status, said := tryRun(t, "import", file, "--database-url", database)
			if status != 1 || !strings.Contains(said, c.place) || !strings.Contains(said, "nothing was imported") {
				t.Errorf("status %d, and it does not name %q:\n%s", status, c.place, said)
			}
			if _, said := tryRun(t, "member", "list", "--database-url", database); !strings.Contains(said, "there is no club yet") {
				t.Errorf("the import left something behind:\n%s", said)
			}
		})
	}
}

// tryRun runs one command line that may fail and returns all that it said.
func tryRun(t *testing.T, args ...string) (int, string) {
	t.Helper()
	var said bytes.Buffer
	return run(t.Context(), args, &terminal{in: strings.NewReader(""), out: &said, err: &said, now: leapDay}), said.String()
}
