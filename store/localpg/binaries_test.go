package localpg

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// fake installs binaries that know their version and nothing else.
func fake(t *testing.T, dir, version string) string {
	t.Helper()
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"postgres", "initdb"} {
		script := "#!/bin/sh\necho '" + name + " (PostgreSQL) " + version + "'\n"
		if err := os.WriteFile(filepath.Join(dir, name), []byte(script), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestFind(t *testing.T) {
	root := t.TempDir()
	at := func(name string) string { return filepath.Join(root, name) }
	old := fake(t, at("usual/13/bin"), "13.20 (Debian 13.20-1)")
	v15 := fake(t, at("usual/15/bin"), "15.18 (Debian 15.18-0+deb12u1)")
	v17 := fake(t, at("usual/17/bin"), "17.6")
	v9 := fake(t, at("usual/9.6/bin"), "9.6.24")
	beta := fake(t, at("beta"), "19beta2")
	// As some systems do it: PATH has links, and initdb is only beside their target.
	if err := os.Mkdir(at("links"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(filepath.Join(v15, "postgres"), at("links/postgres")); err != nil {
		t.Fatal(err)
	}
	// A client package, and something that is not Postgres at all.
	if err := os.Mkdir(at("client"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(at("client/psql"), nil, 0o755); err != nil {
		t.Fatal(err)
	}
	odd := fake(t, at("odd"), "")
	usual := []string{at("usual/*/bin")}

	for _, c := range []struct {
		name string
		l    lookup
		data int
		dir  string // expected, or
		err  error
		says []string
	}{
		{name: "newest of the usual places", l: lookup{globs: usual}, dir: v17},
		{name: "PATH before newer", l: lookup{path: []string{v15}, globs: usual}, dir: v15},
		{name: "links are resolved", l: lookup{path: []string{at("links")}}, dir: v15},
		{name: "an old one in PATH is passed over", l: lookup{path: []string{old}, globs: usual}, dir: v17},
		{name: "a client alone is none", l: lookup{path: []string{at("client"), odd}, globs: usual}, dir: v17},
		{name: "a test version counts", l: lookup{path: []string{beta}}, dir: beta},
		{name: "the data decides", l: lookup{path: []string{v17}, globs: usual}, data: 15, dir: v15},
		{name: "explicit", l: lookup{explicit: v15, path: []string{v17}, globs: usual}, dir: v15},
		{
			name: "explicit and empty", l: lookup{explicit: at("client"), globs: usual},
			err: ErrNotInstalled, says: []string{at("client")},
		},
		{
			name: "explicit and old", l: lookup{explicit: old, globs: usual},
			err: ErrNotInstalled, says: []string{"15 or newer", old, "holds 13"},
		},
		{
			name: "explicit and not the data's", l: lookup{explicit: v17, globs: usual}, data: 15,
			err: ErrWrongVersion, says: []string{"written by PostgreSQL 15", v17, "holds 17"},
		},
		{
			name: "none fits the data", l: lookup{globs: usual, osRelease: osRelease(t, "ID=debian"), root: true}, data: 16,
			err: ErrWrongVersion, says: []string{"written by PostgreSQL 16", "17, 15, 13, 9", "apt-get install postgresql-16"},
		},
		{
			name: "only old ones", l: lookup{path: []string{old, v9}, osRelease: osRelease(t, "ID=debian"), root: true},
			err: ErrNotInstalled, says: []string{"15 or newer, only 13, 9", "apt-get install postgresql"},
		},
		{
			name: "nothing", l: lookup{path: []string{at("client"), at("nowhere"), "."}, osRelease: osRelease(t, "ID=debian")},
			err: ErrNotInstalled, says: []string{"'sudo apt-get install postgresql'", "PRYDAY_DATABASE_URL", "PRYDAY_POSTGRES_BIN"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := c.l.find(c.data)
			if !errors.Is(err, c.err) {
				t.Fatalf("error %v, want %v", err, c.err)
			}
			if err != nil {
				for _, want := range c.says {
					if !strings.Contains(err.Error(), want) {
						t.Errorf("%q does not say %q", err, want)
					}
				}
				return
			}
			if real, _ := filepath.EvalSymlinks(c.dir); got.dir != real {
				t.Errorf("found %s, want %s", got.dir, real)
			}
		})
	}
}

func osRelease(t *testing.T, text string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "os-release")
	if err := os.WriteFile(file, []byte(text+"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	return file
}

// os-release(5) as these distributions ship it, from memory.
func TestInstallCommand(t *testing.T) {
	for _, c := range []struct {
		name, release, goos string
		major               int
		root                bool
		want                string
	}{
		{"Debian as root", "PRETTY_NAME=\"Debian GNU/Linux 12 (bookworm)\"\nID=debian", "linux", 0, true, "apt-get install postgresql"},
		{"Debian", "ID=debian", "linux", 15, false, "sudo apt-get install postgresql-15"},
		{"Ubuntu", "ID=ubuntu\nID_LIKE=debian", "linux", 0, false, "sudo apt-get install postgresql"},
		{"Ubuntu's child", "ID=linuxmint\nID_LIKE=\"ubuntu debian\"", "linux", 0, false, "sudo apt-get install postgresql"},
		{"Fedora", "ID=fedora", "linux", 0, false, "sudo dnf install postgresql-server"},
		{"Rocky", "ID=\"rocky\"\nID_LIKE=\"rhel centos fedora\"", "linux", 0, false, "sudo dnf install postgresql-server"},
		{"Alpine", "ID=alpine", "linux", 17, true, "apk add postgresql17"},
		{"Arch", "ID=arch", "linux", 0, true, "pacman -S postgresql"},
		{"openSUSE", "ID=\"opensuse-leap\"\nID_LIKE=\"suse opensuse\"", "linux", 0, false, "sudo zypper install postgresql-server"},
		{"macOS", "", "darwin", 0, false, "brew install postgresql@17"},
		{"unknown", "ID=haiku", "linux", 0, false, "your package manager's install of the PostgreSQL server"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := lookup{osRelease: osRelease(t, c.release), goos: c.goos, root: c.root}
			if got := l.installCommand(c.major); got != c.want {
				t.Errorf("%q, want %q", got, c.want)
			}
		})
	}
}

func TestNothingIsMadeWhereNothingIsInstalled(t *testing.T) {
	dir := stateDir(t, people(t)[0])
	_, err := Start(t.Context(), Options{StateDir: dir, BinDir: t.TempDir()})
	if !errors.Is(err, ErrNotInstalled) {
		t.Errorf("Start: %v", err)
	}
	if _, err := os.Lstat(dir); !os.IsNotExist(err) {
		t.Errorf("the state directory was made all the same: %v", err)
	}
}

func TestBinariesNamedInTheEnvironment(t *testing.T) {
	empty := t.TempDir()
	t.Setenv("PRYDAY_POSTGRES_BIN", empty)
	_, err := Start(t.Context(), Options{StateDir: stateDir(t, people(t)[0])})
	if !errors.Is(err, ErrNotInstalled) || !strings.Contains(err.Error(), empty) {
		t.Errorf("Start: %v", err)
	}
}
