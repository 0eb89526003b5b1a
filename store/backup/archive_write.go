package backup

import (
	"archive/tar"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"io"
	"time"

	"filippo.io/age"
)

const pieceSize = 1 << 20 // a tar archive must know a file's length before its bytes

// workFactor of scrypt: guessing once takes half a second and 128 MB, and so
// does the nightly backup, on machines that have not much more. Tests lower it.
var workFactor = 17

// archiveWriter writes the files of a backup one after the other.
type archiveWriter struct {
	tar    *tar.Writer
	madeAt time.Time
	layers []io.Closer // to be closed, the innermost first
}

func newArchiveWriter(w io.Writer, madeAt time.Time, passphrase string) (*archiveWriter, error) {
	a := &archiveWriter{madeAt: madeAt}
	if passphrase != "" {
		recipient, err := age.NewScryptRecipient(passphrase)
		if err != nil {
			return nil, err
		}
		recipient.SetWorkFactor(workFactor)
		sealed, err := age.Encrypt(w, recipient)
		if err != nil {
			return nil, err
		}
		a.layers = append(a.layers, sealed)
		w = sealed
	}
	packed, err := gzip.NewWriterLevel(w, gzip.BestSpeed)
	if err != nil {
		return nil, err
	}
	a.tar = tar.NewWriter(packed)
	a.layers = append([]io.Closer{a.tar, packed}, a.layers...)
	return a, nil
}

func (a *archiveWriter) file(name string, data []byte) error {
	err := a.tar.WriteHeader(&tar.Header{Name: name, Mode: 0o600, Size: int64(len(data)), ModTime: a.madeAt})
	if err == nil {
		_, err = a.tar.Write(data)
	}
	return err
}

func (a *archiveWriter) json(name string, value any) error {
	data, err := json.MarshalIndent(value, "", "\t")
	if err != nil {
		return err
	}
	return a.file(name, data)
}

func (a *archiveWriter) Close() error {
	for _, layer := range a.layers {
		if err := layer.Close(); err != nil {
			return err
		}
	}
	return nil
}

// pieces cuts the rows of a table into files, and sums them up.
type pieces struct {
	to   *archiveWriter
	name string
	n    int
	buf  []byte
	tally
}

// Write never keeps data.
func (p *pieces) Write(data []byte) (int, error) {
	if len(p.buf)+len(data) > pieceSize {
		if err := p.flush(); err != nil {
			return 0, err
		}
	}
	p.buf = append(p.buf, data...)
	return p.tally.Write(data)
}

func (p *pieces) flush() error {
	if len(p.buf) == 0 {
		return nil
	}
	p.n++
	err := p.to.file(fmt.Sprintf("tables/%s/%06d", p.name, p.n), p.buf)
	p.buf = p.buf[:0]
	return err
}

// tally sums the bytes of a table's rows up.
type tally struct {
	hash  hash.Hash
	bytes int64
}

func newTally() tally { return tally{hash: sha256.New()} }

// Write never fails.
func (t *tally) Write(data []byte) (int, error) {
	t.bytes += int64(len(data))
	return t.hash.Write(data)
}

func (t *tally) sum() string { return hex.EncodeToString(t.hash.Sum(nil)) }
