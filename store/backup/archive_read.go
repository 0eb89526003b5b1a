package backup

import (
	"archive/tar"
	"bufio"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"filippo.io/age"
)

const (
	// mostManifest bounds what is read into memory of a file from outside.
	mostManifest = 16 << 20

	ageMark  = "age-encryption.org/"
	gzipMark = "\x1f\x8b"
)

// archiveReader reads the files of a backup one after the other.
type archiveReader struct {
	packed *gzip.Reader
	tar    *tar.Reader
	next   *tar.Header // read, and not handed over yet
}

// newArchiveReader opens what newArchiveWriter wrote.
func newArchiveReader(r io.Reader, passphrase string) (*archiveReader, error) {
	begin := bufio.NewReaderSize(r, 1<<16)
	mark, _ := begin.Peek(len(ageMark)) // whatever is wrong with reading is seen again
	var err error
	switch {
	case len(mark) < len(ageMark) && (bytes.HasPrefix([]byte(ageMark), mark) || bytes.HasPrefix(mark, []byte(gzipMark)) || len(mark) < len(gzipMark)):
		return nil, fmt.Errorf("%w: it ends after %d bytes", ErrTorn, len(mark))
	case string(mark) == ageMark:
		if r, err = open(begin, passphrase); err != nil {
			return nil, err
		}
	case bytes.HasPrefix(mark, []byte(gzipMark)):
		r = begin
	default:
		return nil, ErrNotBackup
	}
	a := &archiveReader{}
	if a.packed, err = gzip.NewReader(r); err != nil {
		return nil, torn(err)
	}
	a.tar = tar.NewReader(a.packed)
	return a, nil
}

func open(sealed io.Reader, passphrase string) (io.Reader, error) {
	if passphrase == "" {
		return nil, ErrLocked
	}
	identity, err := age.NewScryptIdentity(passphrase)
	if err != nil {
		return nil, err
	}
	plain, err := age.Decrypt(sealed, identity)
	var wrong *age.NoIdentityMatchError
	if errors.As(err, &wrong) {
		return nil, ErrPassphrase
	}
	if err != nil {
		return nil, torn(err)
	}
	return plain, nil
}

// torn says that reading the file went wrong. Whatever it was, the bytes are
// not those that were written.
func torn(err error) error { return fmt.Errorf("%w (%w)", ErrTorn, err) }

// peek returns the name of the next file, "" after the last one.
func (a *archiveReader) peek() (string, error) {
	if a.next == nil {
		h, err := a.tar.Next()
		if err == io.EOF {
			// The checksum at the end of the packed bytes is still to be read.
			if _, err := io.Copy(io.Discard, a.packed); err != nil {
				return "", torn(err)
			}
			return "", nil
		}
		if err != nil {
			return "", torn(err)
		}
		a.next = h
	}
	return a.next.Name, nil
}

// json reads the next file, which must have this name.
func (a *archiveReader) json(name string, into any) error {
	found, err := a.peek()
	if err != nil {
		return err
	}
	if found != name {
		return fmt.Errorf("%w: %s is missing", ErrTorn, name)
	}
	a.next = nil
	data, err := io.ReadAll(io.LimitReader(a.tar, mostManifest))
	if err != nil {
		return torn(err)
	}
	if err := json.Unmarshal(data, into); err != nil {
		return fmt.Errorf("%w: %s: %w", ErrTorn, name, err)
	}
	return nil
}

// table returns the name of the table whose rows come next, "" after the last.
func (a *archiveReader) table() (string, error) {
	file, err := a.peek()
	if err != nil {
		return "", err
	}
	name, ok := strings.CutPrefix(file, "tables/")
	if !ok {
		return "", nil
	}
	name, _, _ = strings.Cut(name, "/")
	return name, nil
}

// rows reads the pieces of a table as one.
type rows struct {
	of   *archiveReader
	name string
	open bool // a piece is being read
}

// Read ends where the next table begins.
func (r *rows) Read(into []byte) (int, error) {
	for {
		if !r.open {
			name, err := r.of.table()
			if err != nil {
				return 0, err
			}
			if name != r.name {
				return 0, io.EOF
			}
			r.of.next, r.open = nil, true
		}
		n, err := r.of.tar.Read(into)
		if err == io.EOF {
			r.open = false
			if n == 0 {
				continue
			}
			return n, nil
		}
		if err != nil {
			err = torn(err)
		}
		return n, err
	}
}

// Check reads a backup to its end, and returns what it says of itself when all
// of it is there: ErrNotBackup, ErrTorn, ErrLocked, ErrPassphrase or ErrNewer
// else.
func Check(r io.Reader, newestSchema int64, passphrase string) (*Manifest, error) {
	a, err := newArchiveReader(r, passphrase)
	if err != nil {
		return nil, err
	}
	var head, m Manifest
	if err := a.json("head.json", &head); err != nil {
		return nil, err
	}
	if err := head.readable(newestSchema); err != nil {
		return nil, err
	}
	found := map[string]tally{}
	for {
		name, err := a.table()
		if err != nil {
			return nil, err
		}
		if name == "" {
			break
		}
		if _, twice := found[name]; twice {
			return nil, fmt.Errorf("%w: the table %s stands twice", ErrTorn, name)
		}
		t := newTally()
		if _, err := io.Copy(&t, &rows{of: a, name: name}); err != nil {
			return nil, err
		}
		found[name] = t
	}
	if err := a.json("manifest.json", &m); err != nil {
		return nil, err
	}
	if last, err := a.peek(); err != nil || last != "" {
		return nil, errors.Join(err, fmt.Errorf("%w: %q after its end", ErrTorn, last))
	}
	return &m, m.holds(found)
}

// holds returns nil when the tables found are those of the manifest.
func (m *Manifest) holds(found map[string]tally) error {
	for _, t := range m.Tables {
		got, ok := found[t.Name]
		if !ok {
			got = newTally() // a table without rows has no pieces
		}
		if got.sum() != t.SHA256 || got.bytes != t.Bytes {
			return fmt.Errorf("%w: the table %s has other bytes than it was written with", ErrTorn, t.Name)
		}
		delete(found, t.Name)
	}
	for name := range found {
		return fmt.Errorf("%w: the manifest has no table %s", ErrTorn, name)
	}
	return nil
}
