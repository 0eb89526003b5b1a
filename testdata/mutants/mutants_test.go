package main

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestEveryMutantHasItsPlace: a mutant whose text is gone or no longer unique
// breaks nothing any more and must be written anew.
func TestEveryMutantHasItsPlace(t *testing.T) {
	root, err := moduleRoot(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	mutants, err := readLists(root)
	if err != nil {
		t.Error(err)
	}
	if len(mutants) == 0 {
		t.Error("there are none")
	}
}

const sample = `package sample

type Box struct{ n int }

func (b *Box) Due(today int) bool { return b.n < today }

func Due(today int) bool {
	return today > 0 &&
		today < 9
}
`

func TestPlace(t *testing.T) {
	root := t.TempDir()
	if err := os.Mkdir(filepath.Join(root, "sample"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(root, "sample", "box.go"), []byte(sample), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name      string
		m         mutant
		want, err string
	}{
		{"anywhere", mutant{Old: "b.n < today", New: "b.n <= today"}, "return b.n <= today }", ""},
		{"in a method", mutant{In: "Box.Due", Old: "< today", New: "> today"}, "return b.n > today }", ""},
		{"over lines", mutant{Old: "today > 0 && today < 9", New: "today > 0"}, "return today > 0\n}", ""},
		{"gone", mutant{Old: "today < 10", New: "true"}, "", "there 0 times"},
		{"not unique", mutant{Old: "today", New: "0"}, "", "there 5 times"},
		{"in the function, not the method", mutant{In: "Due", Old: "b.n", New: "0"}, "", "there 0 times"},
		{"no function", mutant{In: "Open", Old: "b.n", New: "0"}, "", "no function"},
		{"nothing", mutant{Old: "b.n", New: "b.n"}, "", "changes nothing"},
		{"no Go", mutant{Old: "b.n < today", New: "b.n <"}, "", "makes no Go"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c, err := readCode(root, "sample")
			if err != nil {
				t.Fatal(err)
			}
			err = c.place(&tt.m)
			if tt.err != "" {
				if err == nil || !strings.Contains(err.Error(), tt.err) {
					t.Errorf("got %v, want %q", err, tt.err)
				}
				return
			}
			if err != nil || !strings.Contains(string(tt.m.changed()), tt.want) || tt.m.file != "sample/box.go" {
				t.Errorf("%v: %s of %s", err, tt.m.changed(), tt.m.file)
			}
		})
	}
}
