package main

import (
	"bytes"
	"image"
	_ "image/png"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// inRoom finds paths that are seen from the top of the project, and sourceName
// the names of files of ours wherever they stand. NAME and PACKAGE stand for any.
var (
	inRoom     = regexp.MustCompile(`\b(?:cmd|deploy|migrations|notify|scheduler|store|testdata|web)/[A-Za-z0-9_./*-]*|\b[A-Z]+\.md\b`)
	sourceName = regexp.MustCompile(`\b[a-z0-9_]+\.(?:go|sql)\b`)
)

// A guide that names a file that is gone leads nowhere.
func TestGuidesNameWhatIsThere(t *testing.T) {
	names := map[string]bool{}
	err := filepath.WalkDir("../..", func(path string, _ fs.DirEntry, err error) error {
		names[filepath.Base(path)] = true
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, guide := range []string{"README.md", "DEVELOPERS.md"} {
		said, err := os.ReadFile("../../" + guide)
		if err != nil {
			t.Fatal(err)
		}
		paths := inRoom.FindAllString(string(said), -1)
		if len(paths) < 3 {
			t.Fatalf("%s names %q alone", guide, paths)
		}
		for _, path := range paths {
			path = strings.TrimRight(path, ".")
			if there, err := filepath.Glob("../../" + path); !strings.Contains(path, "NAME") && !strings.Contains(path, "PACKAGE") && (err != nil || len(there) == 0) {
				t.Errorf("%s names %s, which is not there", guide, path)
			}
		}
		for _, name := range sourceName.FindAllString(string(said), -1) {
			if !names[name] {
				t.Errorf("%s names %s, and no file has that name", guide, name)
			}
		}
	}
}

// Whoever opens the README waits for its pictures, and some cannot see them.
func TestPicturesAreLightAndTold(t *testing.T) {
	said, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	shown := regexp.MustCompile(`!\[([^\]]*)\]\(([^)]+)\)`).FindAllSubmatch(said, -1)
	if len(shown) < 2 {
		t.Fatalf("the README shows %d pictures", len(shown))
	}
	for _, m := range shown {
		picture, err := os.ReadFile("../../" + string(m[2]))
		if err != nil {
			t.Error(err)
			continue
		}
		if len(m[1]) < 40 {
			t.Errorf("%s is told in %q alone", m[2], m[1])
		}
		if len(picture) > 150_000 {
			t.Errorf("%s has %d bytes", m[2], len(picture))
		}
		if _, _, err := image.DecodeConfig(bytes.NewReader(picture)); err != nil {
			t.Errorf("%s: %v", m[2], err)
		}
	}
}
