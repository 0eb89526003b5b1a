package main

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"os/exec"
	"slices"
	"strings"
)

// targets are the values of GOARCH, all of Linux, that a release is built for.
var targets = []string{"amd64", "arm64", "arm"}

// module is one module of other people, or Go's standard library, of which at
// least one package is linked.
type module struct {
	path, version string
	licences      []licenceFile
	uses          []string // paths of the modules that its packages import, in order
}

// standardLibrary is the path that stands for it.
const standardLibrary = "std"

// ours is the main module's path.
const ours = "pryday"

// listedPackage is what go list says of a package.
type listedPackage struct {
	ImportPath, Dir string
	Standard        bool
	Imports         []string
	Module          *struct {
		Path, Version, Dir string
		Main               bool
		Replace            *struct{ Path string }
	}
}

// linked lists the modules whose packages are linked into pryday for any of the
// given values of GOARCH, ours among them, in the order of their paths.
func linked(architectures ...string) ([]module, error) {
	dirs := map[string]map[string]bool{} // of a module's path: the folders of its linked packages
	uses := map[string]map[string]bool{}
	found := map[string]*module{}
	root := map[string]string{}
	for _, arch := range architectures {
		packages, err := listPackages(arch)
		if err != nil {
			return nil, err
		}
		of := map[string]string{} // a package's module
		for _, p := range packages {
			m, dir, err := moduleOf(p)
			if err != nil {
				return nil, err
			}
			of[p.ImportPath] = m.path
			if found[m.path] == nil {
				found[m.path], root[m.path] = &m, dir
				dirs[m.path], uses[m.path] = map[string]bool{}, map[string]bool{}
			}
			if p.Standard {
				p.Dir = goRoot // deeper licences are of objects that only GOEXPERIMENT=boringcrypto links
			}
			dirs[m.path][p.Dir] = true
			for _, imported := range p.Imports {
				if other := of[imported]; other != "" && other != m.path { // dependencies are listed first
					uses[m.path][other] = true
				}
			}
		}
	}
	var out []module
	for path, m := range found {
		var err error
		if m.licences, err = readLicences(root[path], slices.Sorted(maps.Keys(dirs[path]))); err != nil {
			return nil, fmt.Errorf("licences of %s: %w", path, err)
		}
		m.uses = slices.Sorted(maps.Keys(uses[path]))
		out = append(out, *m)
	}
	slices.SortFunc(out, func(a, b module) int { return cmp.Compare(a.path, b.path) })
	return out, nil
}

// moduleOf returns a package's module, without its licences, and its folder.
func moduleOf(p listedPackage) (m module, dir string, err error) {
	switch {
	case p.Standard:
		return module{path: standardLibrary, version: goVersion}, goRoot, nil
	case p.Module == nil:
		return m, "", fmt.Errorf("package %s belongs to no module", p.ImportPath)
	case p.Module.Replace != nil:
		return m, "", fmt.Errorf("module %s is replaced by %s, which this program does not know how to name", p.Module.Path, p.Module.Replace.Path)
	}
	return module{path: p.Module.Path, version: p.Module.Version}, p.Module.Dir, nil
}

var goRoot, goVersion = goEnv("GOROOT"), goEnv("GOVERSION")

func goEnv(name string) string {
	out, err := exec.Command("go", "env", name).Output()
	if err != nil {
		panic(fmt.Sprintf("go env %s: %v", name, err)) // no Go, no release
	}
	return strings.TrimSpace(string(out))
}

func listPackages(arch string) ([]listedPackage, error) {
	cmd := exec.Command("go", "list", "-deps", "-json=ImportPath,Dir,Standard,Imports,Module", ours+"/cmd/pryday")
	cmd.Env = append(os.Environ(), "GOOS=linux", "GOARCH="+arch, "CGO_ENABLED=0")
	out, err := cmd.Output()
	if err != nil {
		if exit := (*exec.ExitError)(nil); errors.As(err, &exit) {
			return nil, fmt.Errorf("go list for %s: %w: %s", arch, err, exit.Stderr)
		}
		return nil, fmt.Errorf("go list for %s: %w", arch, err)
	}
	var packages []listedPackage
	for decoder := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listedPackage
		if err := decoder.Decode(&p); errors.Is(err, io.EOF) {
			return packages, nil
		} else if err != nil {
			return nil, fmt.Errorf("read what go list says: %w", err)
		}
		packages = append(packages, p)
	}
}
