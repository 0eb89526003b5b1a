package main

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// mayImport is the house: the rooms stand in one line, and each imports only what
// stands to its left. Folders inside a room inherit its row unless they have
// their own, which is then stricter.
var mayImport = map[string][]string{
	"scheduler":            {"scheduler/text"},
	"scheduler/text":       {},
	"scheduler/advice":     {"scheduler", "scheduler/text"},
	"scheduler/owed":       {"scheduler"},
	"scheduler/simulation": {"scheduler"},
	"migrations":           {},
	"store":                {"scheduler", "migrations"},
	"store/localpg":        {},
	"store/backup":         {"migrations"},
	"store/photo":          {},
	"store/records":        {"scheduler"},
	"store/sheet":          {"scheduler"},
	"store/notebook":       {"scheduler", "store/records"},
	"store/storetest":      {"store/localpg", "migrations", "testdata/testrun"},
	"notify":               {"scheduler", "store"},
	"notify/mail":          {"scheduler"},
	"notify/calendar":      {"scheduler"},
	"notify/smtp":          {},
	"notify/inbox":         {"scheduler", "store"},
	"web":                  {"scheduler", "store", "notify"},
	"web/coordinates":      {},
	"web/gazetteer":        {},
	"testdata":             {}, // files of the demonstration, embedded
	"deploy":               {}, // programs that make a release
	"cmd":                  {"scheduler", "migrations", "store", "notify", "web", "testdata"},
}

// leans is what the scheduler may lean on besides the standard library, and the
// rooms that may: numerics anywhere; where the texts are, the files of languages
// are TOML, and which language and which plural a reader needs is CLDR's
// knowledge. All of it is as pure as the scheduler itself.
var leans = map[string]string{
	"gonum.org/v1/gonum/":        "scheduler",
	"github.com/BurntSushi/toml": "scheduler/text",
	"golang.org/x/text/":         "scheduler/text",
}

type pkg struct {
	ImportPath string
	Standard   bool
	Imports    []string
	Deps       []string

	TestImports, XTestImports []string
}

func TestRoomsImportOnlyWhatStandsToTheirLeft(t *testing.T) {
	pkgs := rooms(t)
	if len(pkgs) < 5 {
		t.Fatalf("only %d packages were listed", len(pkgs))
	}
	for _, p := range pkgs {
		row, ok := row(inHouse(p.ImportPath))
		if !ok {
			t.Errorf("%s stands in no room of the house", p.ImportPath)
			continue
		}
		for _, imported := range p.Imports {
			if !ours(imported) || allowed(row, inHouse(imported)) {
				continue
			}
			t.Errorf("%s imports %s; the house allows it %v", p.ImportPath, imported, mayImport[row])
		}
		// Nothing that serves may carry what is for tests.
		for _, forTests := range []string{"pryday/store/storetest", "pryday/notify/smtp/smtptest", "pryday/testdata/testrun"} {
			if slices.Contains(p.Deps, forTests) && p.ImportPath != "pryday/store/storetest" {
				t.Errorf("%s is linked with %s, which is for tests", p.ImportPath, forTests)
			}
		}
	}
}

// The rules must stay computable anywhere: from a file, in a test, in another
// program. What touches the world or the clock stays outside.
func TestSchedulerIsPure(t *testing.T) {
	outside := []string{"os", "net", "net/http", "database/sql", "os/exec", "log", "log/slog", "io/ioutil", "math/rand", "math/rand/v2"}
	for _, p := range listPackages(t, "pryday/scheduler/...") {
		for _, imported := range p.Imports {
			if slices.Contains(outside, imported) {
				t.Errorf("%s imports %s: the scheduler does no I/O and draws no lots", p.ImportPath, imported)
			}
			for lib, where := range leans {
				if strings.HasPrefix(imported, lib) && !strings.HasPrefix(inHouse(p.ImportPath), where) {
					t.Errorf("%s imports %s, which only %s may", p.ImportPath, imported, where)
				}
			}
		}
	}
	for _, dep := range listPackages(t, "-deps", "pryday/scheduler/...") {
		lean := false
		for lib := range leans {
			lean = lean || strings.HasPrefix(dep.ImportPath, lib)
		}
		if !dep.Standard && !ours(dep.ImportPath) && !lean {
			t.Errorf("the scheduler depends on %s, which it may not lean on", dep.ImportPath)
		}
	}
}

// The machine's zone files and the time of day must not decide a test.
func TestRoomsAreTestedTheSameEverywhere(t *testing.T) {
	for _, p := range rooms(t) {
		imports := append(p.TestImports, p.XTestImports...)
		if len(imports) == 0 || slices.Contains(imports, "pryday/store/storetest") || slices.Contains(imports, "pryday/testdata/testrun") {
			continue
		}
		t.Errorf("no test of %s imports testdata/testrun or store/storetest, which pin the zones and the seed", p.ImportPath)
	}
}

// Nothing under a name that says nothing: such folders collect what nobody wanted
// to think about.
func TestNoRoomIsALumberRoom(t *testing.T) {
	for _, p := range rooms(t) {
		name := p.ImportPath[strings.LastIndexByte(p.ImportPath, '/')+1:]
		switch name {
		case "util", "utils", "common", "models", "helpers", "types", "mock", "mocks", "misc", "base":
			t.Errorf("package %s is named for nothing it does", p.ImportPath)
		}
	}
}

// rooms lists every package, once in a run.
func rooms(t *testing.T) []pkg {
	t.Helper()
	if listed == nil {
		listed = listPackages(t, "pryday/...")
	}
	return listed
}

var listed []pkg

func listPackages(t *testing.T, args ...string) []pkg {
	t.Helper()
	cmd := exec.Command("go", append([]string{"list", "-json=ImportPath,Standard,Imports,Deps,TestImports,XTestImports"}, args...)...)
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list %v: %v\n%s", args, err, stderr.String())
	}
	var pkgs []pkg
	dec := json.NewDecoder(strings.NewReader(string(out)))
	for {
		var p pkg
		err := dec.Decode(&p)
		if errors.Is(err, io.EOF) {
			return pkgs
		}
		if err != nil {
			t.Fatal(err)
		}
		pkgs = append(pkgs, p)
	}
}

func ours(path string) bool { return path == "pryday" || strings.HasPrefix(path, "pryday/") }

func inHouse(path string) string { return strings.TrimPrefix(path, "pryday/") }

// row finds the strictest row of the house for a folder.
func row(folder string) (string, bool) {
	for f := folder; ; {
		if _, ok := mayImport[f]; ok {
			return f, true
		}
		at := strings.LastIndexByte(f, '/')
		if at < 0 {
			return "", false
		}
		f = f[:at]
	}
}

// allowed tells whether a folder with this row may import another: what is inside
// itself, and the folders in its row with what is inside them.
func allowed(row, imported string) bool {
	within := func(room string) bool { return imported == room || strings.HasPrefix(imported, room+"/") }
	return within(row) || slices.ContainsFunc(mayImport[row], within)
}
