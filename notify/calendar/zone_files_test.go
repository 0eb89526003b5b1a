package calendar

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pryday/testdata/testrun"
)

// fat before a zone's name has it read from a file in the other of the two
// forms in use: Go carries zones with a rule for all years to come, Debian and
// others write out each change until 2037 before that rule (zic -b fat). Both
// mean the same, but the time package walks through them in different ways.
const fat = "fat/"

func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "zones-")
	if err == nil {
		err = writeZones(testrun.ZoneArchive, dir)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "zones for the tests:", err)
		os.Exit(1)
	}
	os.Setenv("ZONEINFO", dir)
	code := m.Run()
	os.RemoveAll(dir)
	os.Exit(code)
}

// writeZones writes each zone of an archive into dir, in both forms.
func writeZones(archive, dir string) error {
	z, err := zip.OpenReader(archive)
	if err != nil {
		return err
	}
	defer z.Close()
	for _, f := range z.File {
		if strings.HasSuffix(f.Name, "/") {
			continue
		}
		in, err := f.Open()
		if err != nil {
			return err
		}
		slim, err := io.ReadAll(in)
		if err != nil {
			return err
		}
		loc, err := time.LoadLocationFromTZData(f.Name, slim)
		if err != nil {
			return fmt.Errorf("%s: %w", f.Name, err)
		}
		for name, data := range map[string][]byte{f.Name: slim, fat + f.Name: fatten(loc, slim)} {
			file := filepath.Join(dir, name)
			err := errors.Join(os.MkdirAll(filepath.Dir(file), 0o755), os.WriteFile(file, data, 0o644))
			if err != nil {
				return err
			}
		}
	}
	return nil
}

// fatten writes a zone out until 2037 (RFC 9636, section 3: a header and a data
// block for old readers, here empty, again for new ones, and a rule at the end).
func fatten(loc *time.Location, slim []byte) []byte {
	type local struct {
		name   string
		offset int32
		dst    bool
	}
	at := func(t time.Time) local {
		name, offset := t.Zone()
		return local{name, int32(offset), t.IsDST()}
	}
	var times, indices, types, names []byte
	index := map[local]byte{}
	number := func(l local) byte {
		i, ok := index[l]
		if !ok {
			i = byte(len(index))
			index[l] = i
			types = append(binary.BigEndian.AppendUint32(types, uint32(l.offset)), 0, byte(len(names)))
			if l.dst {
				types[len(types)-2] = 1
			}
			names = append(append(names, l.name...), 0)
		}
		return i
	}
	t := time.Date(1800, 1, 1, 0, 0, 0, 0, time.UTC).In(loc)
	now := at(t)
	number(now)
	for limit := time.Date(2038, 1, 1, 0, 0, 0, 0, time.UTC); ; {
		_, end := t.ZoneBounds()
		if end.IsZero() || !end.Before(limit) {
			break
		}
		if !end.After(t) { // the end of a year, at which ZoneBounds stops as well
			end = t.Add(time.Hour)
		}
		t = end
		if next := at(t); next != now {
			now = next
			times = binary.BigEndian.AppendUint64(times, uint64(t.Unix()))
			indices = append(indices, number(now))
		}
	}
	header := func(changes, types, names int) []byte {
		out := append([]byte("TZif2"), make([]byte, 15+3*4)...)
		for _, n := range []int{changes, types, names} {
			out = binary.BigEndian.AppendUint32(out, uint32(n))
		}
		return out
	}
	rule := slim[bytes.LastIndexByte(slim[:len(slim)-1], '\n'):]
	return bytes.Join([][]byte{header(0, 0, 0), header(len(indices), len(index), len(names)), times, indices, types, names, rule}, nil)
}
