package localpg

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// ErrNotInstalled says that no usable Postgres was found. The text around it
// names the one command that installs it.
var ErrNotInstalled = errors.New("PostgreSQL is not installed")

// ErrWrongVersion says that none of the installed versions can read the data.
var ErrWrongVersion = errors.New("no installed PostgreSQL fits the data")

// installation is one directory with the server's binaries.
type installation struct {
	dir   string
	major int
}

func (i installation) postgres() string { return filepath.Join(i.dir, "postgres") }
func (i installation) initdb() string   { return filepath.Join(i.dir, "initdb") }

// lookup is where installations are searched for; tests bring their own.
type lookup struct {
	explicit  string   // only this directory, when set
	path      []string // directories of PATH
	globs     []string // directories that distributions use
	osRelease string   // file that tells the distribution
	goos      string
	root      bool
}

// Distributions keep server binaries out of PATH so that several major versions
// can live side by side.
var usualPlaces = []string{
	"/usr/lib/postgresql/*/bin",   // Debian, Ubuntu
	"/usr/pgsql-*/bin",            // RPM packages of the PostgreSQL project
	"/usr/lib/postgresql*/bin",    // openSUSE
	"/usr/lib64/postgresql-*/bin", // Gentoo
	"/usr/libexec/postgresql*",    // Alpine
	"/opt/homebrew/opt/postgresql*/bin",
	"/usr/local/opt/postgresql*/bin",
	"/home/linuxbrew/.linuxbrew/opt/postgresql*/bin",
	"/opt/local/lib/postgresql*/bin", // MacPorts
}

// find picks the binaries. With data of a major version, only that version can
// open it; without, PATH comes first and then the newest.
func (l lookup) find(dataMajor int) (installation, error) {
	if l.explicit != "" {
		return l.findExplicit(dataMajor)
	}
	found := l.installations()
	if len(found) == 0 {
		return installation{}, fmt.Errorf("%w: install it with '%s', or name a server in PRYDAY_DATABASE_URL, "+
			"or the directory of its binaries in PRYDAY_POSTGRES_BIN", ErrNotInstalled, l.installCommand(0))
	}
	if dataMajor != 0 {
		for _, i := range found {
			if i.major == dataMajor {
				return i, nil
			}
		}
		return installation{}, fmt.Errorf("%w: it was written by PostgreSQL %d, and %s is installed: "+
			"install that version beside it ('%s')", ErrWrongVersion, dataMajor, versions(found), l.installCommand(dataMajor))
	}
	for _, i := range found {
		if i.major >= OldestMajor {
			return i, nil
		}
	}
	return installation{}, fmt.Errorf("%w in version %d or newer, only %s: install it with '%s'",
		ErrNotInstalled, OldestMajor, versions(found), l.installCommand(0))
}

func (l lookup) findExplicit(dataMajor int) (installation, error) {
	i, err := inspect(l.explicit)
	switch {
	case err != nil:
		return i, fmt.Errorf("%w in the directory given, %s: %w", ErrNotInstalled, l.explicit, err)
	case dataMajor != 0 && i.major != dataMajor:
		return i, fmt.Errorf("%w: it was written by PostgreSQL %d, and the directory given, %s, holds %d",
			ErrWrongVersion, dataMajor, l.explicit, i.major)
	case i.major < OldestMajor:
		return i, fmt.Errorf("%w in version %d or newer: the directory given, %s, holds %d",
			ErrNotInstalled, OldestMajor, l.explicit, i.major)
	}
	return i, nil
}

// installations lists what is there: PATH in its order, then the usual places
// from the newest to the oldest.
func (l lookup) installations() []installation {
	var found []installation
	seen := map[string]bool{}
	add := func(into []installation, dir string) []installation {
		i, err := inspect(dir)
		if err != nil || seen[i.dir] {
			return into
		}
		seen[i.dir] = true
		return append(into, i)
	}
	for _, dir := range l.path {
		if filepath.IsAbs(dir) { // never run what lies in the current directory
			found = add(found, dir)
		}
	}
	var usual []installation
	for _, glob := range l.globs {
		dirs, _ := filepath.Glob(glob) // the only error is a bad pattern, and they are constant
		for _, dir := range dirs {
			usual = add(usual, dir)
		}
	}
	slices.SortStableFunc(usual, func(a, b installation) int { return b.major - a.major })
	return append(found, usual...)
}

// inspect resolves symlinks, since Postgres looks for its share directory beside
// the real binary, and asks the binary for its version.
func inspect(dir string) (installation, error) {
	real, err := filepath.EvalSymlinks(filepath.Join(dir, "postgres"))
	if err != nil {
		return installation{}, err
	}
	i := installation{dir: filepath.Dir(real)}
	if _, err := os.Stat(i.initdb()); err != nil {
		return i, err
	}
	cmd := exec.Command(real, "--version")
	cmd.Dir = "/"
	out, err := cmd.Output()
	if err != nil {
		return i, fmt.Errorf("%s --version: %w", real, err)
	}
	i.major, err = parseMajor(string(out))
	return i, err
}

// parseMajor reads "postgres (PostgreSQL) 15.18 (Debian 15.18-0+deb12u1)",
// and "17devel" and "18beta1" as well.
func parseMajor(version string) (int, error) {
	_, rest, ok := strings.Cut(version, "(PostgreSQL) ")
	digits := 0
	for digits < len(rest) && rest[digits] >= '0' && rest[digits] <= '9' {
		digits++
	}
	major, err := strconv.Atoi(rest[:digits])
	if !ok || err != nil {
		return 0, fmt.Errorf("no version of PostgreSQL in %q", strings.TrimSpace(version))
	}
	return major, nil
}

func versions(found []installation) string {
	var majors []string
	for _, i := range found {
		majors = append(majors, strconv.Itoa(i.major))
	}
	return strings.Join(slices.Compact(majors), ", ")
}
