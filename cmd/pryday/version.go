package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"strings"

	"golang.org/x/mod/module"
	"golang.org/x/mod/semver"

	"pryday/web"
)

// thisBuild is what the linker wrote into the running program: in a repository
// Go notes the tag or the revision by itself.
func thisBuild() web.Build {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		info = &debug.BuildInfo{GoVersion: runtime.Version()}
	}
	return buildOf(info)
}

// buildOf takes a version for that of a release only when it is a tag's own: Go
// derives others from the last tag and the revision.
func buildOf(info *debug.BuildInfo) web.Build {
	b := web.Build{Go: info.GoVersion}
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			b.Revision = s.Value
		case "vcs.modified":
			b.Modified = s.Value == "true"
		}
	}
	v := info.Main.Version
	if semver.IsValid(v) && semver.Build(v) == "" && !module.IsPseudoVersion(v) && !b.Modified {
		b.Version = strings.TrimPrefix(v, "v")
	}
	return b
}

// versionLine is what --version prints.
func versionLine(b web.Build) string {
	version, revision := b.Version, "revision "+b.Revision
	if version == "" {
		version = "(not a release)"
	}
	if b.Revision == "" {
		revision = "revision unknown"
	}
	if b.Modified {
		revision += " and changes since"
	}
	return fmt.Sprintf("pryday %s, %s, %s %s/%s", version, revision, b.Go, runtime.GOOS, runtime.GOARCH)
}
