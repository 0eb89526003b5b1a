package photo

import (
	"archive/zip"
	"bytes"
	"testing"

	"github.com/google/uuid"
)

// zipped is a ZIP file with files of these names, each with the same content.
func zipped(content string, names ...string) []byte {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, name := range names {
		if w, err := z.Create(name); err == nil {
			w.Write([]byte(content))
		}
	}
	z.Close()
	return out.Bytes()
}

// Whatever a file holds, what is handed over is bounded and called by two ids.
func FuzzReadArchive(f *testing.F) {
	opening, id := uuid.NewString(), uuid.NewString()
	var honest bytes.Buffer
	a := NewArchive(&honest)
	a.Add(Place{ID: id, Opening: opening, By: "brida@example.org"}, []byte("picture"))
	a.Close()
	for _, hostile := range [][]byte{
		honest.Bytes(), honest.Bytes()[:40], nil, []byte("PK\x05\x06"), zipped("x", "../../"+opening+"/"+id+".jpg"), zipped("x", opening+"/"+id+".jpg", opening+"/"+id+".jpg"),
		zipped("\"", listName), zipped("a,b\n,,,,,\n", listName, "/"), zipped(string(make([]byte, MaxBytes+2)), opening+"/"+id+".jpg"), zipped("x", "\x00/\xff.jpg"),
	} {
		f.Add(hostile)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		_ = ReadArchive(bytes.NewReader(data), int64(len(data)), func(p Place, picture []byte) error {
			if uuid.Validate(p.ID) != nil || uuid.Validate(p.Opening) != nil || len(picture) > MaxBytes+1 {
				t.Fatalf("handed over: %+v with %d bytes", p, len(picture))
			}
			return nil
		})
	})
}
