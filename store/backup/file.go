package backup

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"pryday/migrations"
)

// Place says where a backup goes, and how.
type Place struct {
	File       string // that is not there yet
	Passphrase string // empty leaves it readable
	Leave      uint64 // bytes that must stay free on its disk
	// Free says how many bytes are free on the disk of a folder; nil asks the
	// system.
	Free func(folder string) (uint64, error)
}

// Create writes a backup to a file that only its owner may read. The file is
// there whole, read back and on the disk, or it is not there: what is cut short
// leaves FILE.part-*, which the next backup to the same name takes away.
func Create(ctx context.Context, from Source, to Place, now time.Time) (_ *Manifest, err error) {
	if to.Free == nil {
		to.Free = FreeDisk
	}
	if err := absent(to.File); err != nil {
		return nil, err
	}
	sweep(to.File)
	folder := filepath.Dir(to.File)
	part, err := os.CreateTemp(folder, filepath.Base(to.File)+".part-*") // mode 0600
	if err != nil {
		return nil, fmt.Errorf("begin the backup: %w", err)
	}
	defer func() {
		os.Remove(part.Name())
		part.Close()
	}()
	// Whoever sweeps sees by this lock that somebody is still at it.
	if err := syscall.Flock(int(part.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		return nil, fmt.Errorf("lock %s: %w", part.Name(), err)
	}
	m, err := Write(ctx, &watched{Writer: part, folder: folder, to: to}, from, now, to.Passphrase)
	if err == nil {
		err = part.Sync()
	}
	if err == nil {
		_, err = part.Seek(0, io.SeekStart)
	}
	if err != nil {
		return nil, noRoom(err, folder)
	}
	if _, err := Check(part, max(m.Schema, migrations.Latest()), to.Passphrase); err != nil {
		return nil, fmt.Errorf("read the backup back: %w", err)
	}
	return m, appear(part.Name(), to.File)
}

// appear gives a finished file its name, which must be free.
func appear(part, file string) error {
	err := os.Link(part, file) // fails where the name is taken
	if err != nil && !errors.Is(err, os.ErrExist) {
		// File systems of memory sticks know no second name.
		if err = absent(file); err == nil {
			err = os.Rename(part, file)
		}
	}
	if err == nil {
		err = syncFolder(filepath.Dir(file))
	}
	if err != nil {
		return fmt.Errorf("name the finished backup: %w", err)
	}
	return nil
}

func absent(file string) error {
	_, err := os.Lstat(file)
	if err == nil {
		return fmt.Errorf("%s: %w; nothing was written over it", file, os.ErrExist)
	}
	if !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}

// sweep takes away what backups to this name left that were cut short.
func sweep(file string) {
	entries, err := os.ReadDir(filepath.Dir(file))
	if err != nil {
		return // whoever writes next says why
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), filepath.Base(file)+".part-") {
			removeDead(filepath.Join(filepath.Dir(file), e.Name()))
		}
	}
}

// removeDead removes a file that nobody holds a lock on.
func removeDead(path string) {
	f, err := os.Open(path)
	if err != nil {
		return
	}
	defer f.Close()
	if syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) == nil {
		os.Remove(path)
	}
}

// watched stops writing before the disk is full: a database may be on it.
type watched struct {
	io.Writer
	folder string
	to     Place
	unseen int // bytes that may be written before the disk is asked again
}

// Write fails with ErrDiskFull when too little room is left.
func (w *watched) Write(data []byte) (int, error) {
	if w.unseen -= len(data); w.unseen < 0 {
		w.unseen = 1 << 20
		free, err := w.to.Free(w.folder)
		if err != nil {
			return 0, err
		}
		if free < w.to.Leave {
			return 0, fmt.Errorf("%w: %d MB are left in %s, and %d MB must stay free", ErrDiskFull, free>>20, w.folder, w.to.Leave>>20)
		}
	}
	return w.Writer.Write(data)
}

func noRoom(err error, folder string) error {
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) {
		return fmt.Errorf("%w: %s has none left (%w)", ErrDiskFull, folder, err)
	}
	return err
}

// FreeDisk is the room for this account on the disk of a folder, in bytes.
func FreeDisk(folder string) (uint64, error) {
	var stat syscall.Statfs_t
	if err := syscall.Statfs(folder, &stat); err != nil {
		return 0, fmt.Errorf("ask how full the disk of %s is: %w", folder, err)
	}
	return stat.Bavail * uint64(stat.Bsize), nil
}

func syncFolder(folder string) error {
	f, err := os.Open(folder)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := f.Sync(); err != nil && !errors.Is(err, syscall.EINVAL) { // some file systems cannot
		return err
	}
	return nil
}
