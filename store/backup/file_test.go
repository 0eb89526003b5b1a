package backup

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
)

func TestCreateIsWholeAndPrivate(t *testing.T) {
	t.Parallel()
	from := Source{URL: demoDatabase(t)}
	folder := t.TempDir()
	file := filepath.Join(folder, "bees.backup")
	dead := filepath.Join(folder, "bees.backup.part-1") // of one that was killed
	mine := filepath.Join(folder, "other.backup.part-1")
	for _, name := range []string{dead, mine} {
		if err := os.WriteFile(name, []byte("half"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	m, err := Create(t.Context(), from, Place{File: file}, night)
	if err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(file)
	if err != nil || info.Mode().Perm() != 0o600 || m.Rows() == 0 {
		t.Fatalf("mode %v, %d rows: %v", info.Mode(), m.Rows(), err)
	}
	if got := names(t, folder); len(got) != 2 || got[0] != "bees.backup" || got[1] != "other.backup.part-1" {
		t.Errorf("in the folder: %v", got)
	}
	if _, err := Create(t.Context(), from, Place{File: file}, night.AddDate(0, 0, 1)); !errors.Is(err, os.ErrExist) {
		t.Errorf("over a file that is there: %v", err)
	}
	if again, err := os.Stat(file); err != nil || again.Size() != info.Size() || !again.ModTime().Equal(info.ModTime()) {
		t.Error("the file that was there has changed")
	}
}

func TestCreateLeavesNothingBehind(t *testing.T) {
	t.Parallel()
	from := Source{URL: demoDatabase(t)}
	asked := 0
	for name, c := range map[string]struct {
		from  Source
		place Place
		want  error
	}{
		"no room": {from, Place{Leave: 500 << 20, Free: func(string) (uint64, error) { return 499 << 20, nil }}, ErrDiskFull},
		"room that ends": {from, Place{Leave: 500 << 20, Free: func(string) (uint64, error) {
			asked++
			return uint64(600-100*asked) << 20, nil
		}, Passphrase: ""}, ErrDiskFull},
		"no database": {Source{URL: "postgres:///nowhere?host=/nonexistent"}, Place{}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			folder := t.TempDir()
			c.place.File = filepath.Join(folder, "bees.backup")
			if name == "room that ends" {
				run(t, from.URL, `INSERT INTO audit (club_id, action, subject, detail)
					SELECT id, 'x', 'y', to_jsonb((SELECT string_agg(md5(n::text), '') FROM generate_series(1, 100000) n)) FROM club`)
			}
			if _, err := Create(t.Context(), c.from, c.place, night); err == nil || c.want != nil && !errors.Is(err, c.want) {
				t.Errorf("got %v", err)
			}
			if left := names(t, folder); len(left) > 0 {
				t.Errorf("left behind: %v", left)
			}
		})
	}
	if asked < 2 {
		t.Errorf("the disk was asked %d times while writing", asked)
	}
}

func names(t *testing.T, folder string) (out []string) {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}
