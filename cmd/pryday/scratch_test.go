package main

import (
	"mime/multipart"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// What is uploaded lies in the state directory while it is read, where else may
// not be writable, and what a killed service left of it is gone.
func TestUploadsLieInTheStateDirectory(t *testing.T) {
	state := t.TempDir()
	old := filepath.Join(state, scratchFolder, "multipart-1")
	if err := os.MkdirAll(filepath.Dir(old), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(old, []byte("a club's records"), 0o600); err != nil {
		t.Fatal(err)
	}
	setenv := func(name, value string) error { t.Setenv(name, value); return nil }
	if err := clearScratch(state, func(string) string { return "/elsewhere" }, setenv); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(old); err != nil {
		t.Errorf("with a folder of the administrator's own, this one is left alone: %v", err)
	}
	if err := clearScratch(state, func(string) string { return "" }, setenv); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(old); !os.IsNotExist(err) {
		t.Errorf("what was left is still there: %v", err)
	}
	if info, err := os.Stat(filepath.Dir(old)); err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("the folder: %v %v", info, err)
	}
	body := "--b\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a.json\"\r\n\r\n" + strings.Repeat(" ", 2<<20) + "\r\n--b--\r\n"
	form, err := multipart.NewReader(strings.NewReader(body), "b").ReadForm(1 << 20)
	if err != nil {
		t.Fatal(err)
	}
	defer form.RemoveAll()
	left, err := filepath.Glob(filepath.Join(state, scratchFolder, "*"))
	if err != nil || len(left) != 1 {
		t.Errorf("an upload of 2 MB lies in %q, %v", left, err)
	}
}
