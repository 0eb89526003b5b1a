package photo

import (
	"archive/zip"
	"bytes"
	"strings"
	"testing"

	"github.com/google/uuid"
)

func TestArchiveComesBack(t *testing.T) {
	var b bytes.Buffer
	a := NewArchive(&b)
	want := map[string]Place{}
	for _, by := range []string{"brida@example.org", ""} {
		p := Place{ID: uuid.NewString(), Opening: uuid.NewString(), Apiary: "=1+1", Box: "Q13", On: "2027-06-01", By: by}
		want[p.ID] = p
		if err := a.Add(p, []byte("picture of "+p.ID)); err != nil {
			t.Fatal(err)
		}
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	n := 0
	err := ReadArchive(bytes.NewReader(b.Bytes()), int64(b.Len()), func(p Place, data []byte) error {
		n++
		if w := want[p.ID]; p.Opening != w.Opening || p.By != w.By || string(data) != "picture of "+p.ID {
			t.Errorf("read %+v with %s", p, data)
		}
		return nil
	})
	if err != nil || n != len(want) {
		t.Errorf("%d photos: %v", n, err)
	}
	if list := fileIn(t, b.Bytes(), listName); !strings.Contains(list, "'=1+1") {
		t.Errorf("a spreadsheet takes a name for a formula: %s", list)
	}
}

func fileIn(t *testing.T, data []byte, name string) string {
	t.Helper()
	in, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range in.File {
		if f.Name == name {
			b, err := content(f)
			if err != nil {
				t.Fatal(err)
			}
			return string(b)
		}
	}
	t.Fatalf("there is no %s", name)
	return ""
}

func TestArchiveRefusesOtherFiles(t *testing.T) {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	if _, err := w.Create("../" + uuid.NewString() + ".jpg"); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{"no ZIP": []byte("hello"), "a file by the way": b.Bytes()} {
		if err := ReadArchive(bytes.NewReader(data), int64(len(data)), func(Place, []byte) error { return nil }); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
}
