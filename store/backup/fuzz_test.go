package backup

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"errors"
	"strings"
	"testing"
)

// packed is a file of the form of a backup, with what it is told to hold.
func packed(files ...[2]string) []byte {
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	t := tar.NewWriter(z)
	for _, f := range files {
		t.WriteHeader(&tar.Header{Name: f[0], Mode: 0o600, Size: int64(len(f[1]))})
		t.Write([]byte(f[1]))
	}
	t.Close()
	z.Close()
	return out.Bytes()
}

// Whatever a file holds, it is a backup, or is refused for a reason that a person
// can be told.
func FuzzCheck(f *testing.F) {
	for _, hostile := range [][]byte{
		nil, []byte("\x1f\x8b"), []byte("age-encryption.org/v1\n-> scrypt AAAA 64\n\n--- \n"), []byte("age-encryption.org/v1\n-> X25519 AAAA\n\n---\n"),
		packed(), packed([2]string{"head.json", "{}"}), packed([2]string{"head.json", `{"schema":-1}`}),
		packed([2]string{"head.json", `{"schema":` + strings.Repeat("9", 400) + `}`}), packed([2]string{"head.json", strings.Repeat("[", 20000)}),
		packed([2]string{"../../etc/passwd", "x"}), packed([2]string{"head.json", `{"format":1,"schema":1}`}, [2]string{"tables/x/../y", "1\n"}),
		packed([2]string{"head.json", `{"format":1,"schema":1}`}, [2]string{"tables/club/1", "\x00\xff"}, [2]string{"manifest.json", `{"tables":[{"name":"club","rows":-1}]}`}),
		packed([2]string{"tables/club/1", "1"})[:20],
	} {
		f.Add(hostile, "")
		f.Add(hostile, "a passphrase")
	}
	f.Fuzz(func(t *testing.T, data []byte, passphrase string) {
		m, err := Check(bytes.NewReader(data), 1000, passphrase)
		switch {
		case err == nil && m == nil:
			t.Fatal("neither a backup nor refused")
		case err == nil:
			return
		}
		for _, known := range []error{ErrNotBackup, ErrTorn, ErrLocked, ErrPassphrase, ErrNewer} {
			if errors.Is(err, known) {
				return
			}
		}
		t.Fatalf("refused for no reason that is known: %v", err)
	})
}
