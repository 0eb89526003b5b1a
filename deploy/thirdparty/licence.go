package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/google/licensecheck"
)

// licenceFile is one file of a module that says what may be done with it.
type licenceFile struct {
	name string   // inside the module
	text string   // whole
	ids  []string // SPDX identifiers of the licences recognised in it, and of additions to them
}

// allowed are the licences under which a module may be linked into a program
// that is itself given away under MIT. MPL-2.0 asks that the source of its files
// can be had, and the list of licences says where.
var allowed = []string{"Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "ISC", "MIT", "MPL-2.0"}

// patentGrant only gives rights in addition to a licence beside it.
const patentGrant = "GooglePatentsFile"

// recognised is how much of a file's words must be a known licence, in percent,
// the holders' names aside: a restriction that somebody added is more than the rest.
const recognised = 95

// licenceName matches the usual names, but no source code.
var licenceName = regexp.MustCompile(`(?i)^(un)?(licen[cs]es?|copying|copyright|notice|patents)([-.][-.\w]*)?$`)

// isNotice: such a file names people and parts, and licenses nothing.
func (f licenceFile) isNotice() bool {
	return strings.HasPrefix(strings.ToLower(filepath.Base(f.name)), "notice")
}

// readLicences reads the files with licences in the module at root that hold for
// the packages in dirs: those in their folders and in the folders above.
func readLicences(root string, dirs []string) ([]licenceFile, error) {
	var files []licenceFile
	seen := map[string]bool{}
	for _, dir := range dirs {
		for ; !seen[dir] && (dir == root || strings.HasPrefix(dir, root+string(filepath.Separator))); dir = filepath.Dir(dir) {
			seen[dir] = true
			entries, err := os.ReadDir(dir)
			if err != nil {
				return nil, err
			}
			for _, e := range entries {
				if !e.Type().IsRegular() || !licenceName.MatchString(e.Name()) || filepath.Ext(e.Name()) == ".go" {
					continue
				}
				text, err := os.ReadFile(filepath.Join(dir, e.Name()))
				if err != nil {
					return nil, err
				}
				name, err := filepath.Rel(root, filepath.Join(dir, e.Name()))
				if err != nil {
					return nil, err
				}
				files = append(files, licenceFile{name: filepath.ToSlash(name), text: string(text), ids: classify(text)})
			}
		}
	}
	slices.SortFunc(files, func(a, b licenceFile) int { return strings.Compare(a.name, b.name) })
	return files, nil
}

// classify names the licences that text is, or nothing when it is more or less
// than they are.
func classify(text []byte) (ids []string) {
	coverage := licensecheck.Scan(text)
	if coverage.Percent < recognised {
		return nil
	}
	for _, match := range coverage.Match {
		ids = append(ids, match.ID)
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}

// ids are the licences of all of a module's linked packages together, in order.
func (m module) ids() (ids []string) {
	for _, f := range m.licences {
		ids = append(ids, f.ids...)
	}
	slices.Sort(ids)
	return slices.DeleteFunc(slices.Compact(ids), func(id string) bool { return id == patentGrant })
}

// mayBeLinked says what forbids it: no licence, a text that is not known, or a
// licence that is not among those allowed.
func (m module) mayBeLinked() error {
	var wrong []error
	if len(m.ids()) == 0 {
		wrong = append(wrong, fmt.Errorf("%s %s has no licence that is known; replace it", m.path, m.version))
	}
	for _, f := range m.licences {
		if len(f.ids) == 0 && !f.isNotice() {
			wrong = append(wrong, fmt.Errorf("%s %s: its %s is no known licence, or one with additions", m.path, m.version, f.name))
		}
	}
	for _, id := range m.ids() {
		if !slices.Contains(allowed, id) {
			wrong = append(wrong, fmt.Errorf("%s %s has the licence %s, and only %s are allowed", m.path, m.version, id, strings.Join(allowed, ", ")))
		}
	}
	return errors.Join(wrong...)
}
