package testrun

import (
	"archive/zip"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// ZoneRelease is the release of the IANA time zone database that tests see.
// Governments change their clocks all the time, and what a test expects of a
// zone was worked out by the rules of one release. Neither the machine's files
// nor the data built into a toolchain can stand for it: both move on. So one
// release lies beside this file, as Go 1.26 carries it, and time.LoadLocation
// is led to it before it asks the machine. Renew it with ./renew-zones.
const ZoneRelease = "2025c"

// ZoneArchive is the file of that release, "" in a test that runs outside of
// the module, as one does that starts itself again: that inherits ZONEINFO.
var ZoneArchive = findZones()

// The time package reads ZONEINFO once, when the first zone is loaded, so this
// comes before any test.
func init() {
	if ZoneArchive != "" {
		os.Setenv("ZONEINFO", ZoneArchive)
	}
}

// findZones looks upwards from the folder of the package under test.
func findZones() string {
	dir, err := os.Getwd()
	if err != nil {
		return ""
	}
	for {
		file := filepath.Join(dir, "testdata", "testrun", "zoneinfo-"+ZoneRelease+".zip")
		if _, err := os.Stat(file); err == nil {
			return file
		}
		above := filepath.Dir(dir)
		if above == dir {
			return ""
		}
		dir = above
	}
}

// Zones names every zone of the release.
func Zones(t testing.TB) []string {
	t.Helper()
	archive, err := zip.OpenReader(ZoneArchive)
	if err != nil {
		t.Fatal(err)
	}
	defer archive.Close()
	var names []string
	for _, f := range archive.File {
		if !strings.HasSuffix(f.Name, "/") {
			names = append(names, f.Name)
		}
	}
	if len(names) < 500 {
		t.Fatalf("only %d zones in the IANA database", len(names))
	}
	return names
}
