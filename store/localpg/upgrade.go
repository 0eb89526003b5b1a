package localpg

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// What keeps data from being taken to a newer major version.
var (
	// ErrUpgradeCutShort says that only the last step of an upgrade is missing,
	// which Upgrade does when it is called again.
	ErrUpgradeCutShort = errors.New("an upgrade of the private PostgreSQL was cut short")
	// ErrUpToDate says that no newer version is installed than wrote the data.
	ErrUpToDate = errors.New("no newer PostgreSQL is installed than the one that wrote the data")
)

const upgrading = "data.upgrading" // the new data until it is proved

// Upgraded tells what an upgrade did.
type Upgraded struct {
	From, To int    // major versions
	Old      string // the folder in which the data of before is kept
}

// Upgrade takes the data of a state directory to the newest installed major
// version. A server of the old version runs while save takes its records out, and
// one of the new version, on new and empty data, while load brings them in and
// proves them; only then does the new data take the old one's place. The old data
// stays beside it, under a name that tells its version. Whatever goes wrong before,
// the old data is as it was.
//
// A nil save needs no server of the old version: load has the records from
// elsewhere. ErrInUse while a daemon runs, ErrWrongVersion when the version that
// wrote the data is not installed and save is not nil, ErrUpToDate.
func Upgrade(ctx context.Context, o Options, save, load func(context.Context, Addresses) error) (done Upgraded, err error) {
	o, err = o.withDefaults()
	if err != nil {
		return done, err
	}
	l, err := existingLayout(o.StateDir)
	if err != nil {
		return done, err
	}
	lock, err := l.takeLock()
	if err != nil {
		return done, err
	}
	defer lock.Close()
	if kept := l.cutShort(); kept != "" {
		return l.lastStep(kept)
	}
	who, err := chooseAccount(o.Account, l)
	if err != nil {
		return done, err
	}
	old, newest, err := l.versions(o, save != nil)
	if err != nil {
		return done, err
	}
	done = Upgraded{From: old.major, To: newest.major}
	if err := l.roomToUpgrade(); err != nil {
		return done, err
	}
	if save != nil {
		if err := during(ctx, &Server{layout: l, log: o.Logger}, old, who, o, save); err != nil {
			return done, err
		}
	} else if pf, err := l.readPidFile(); err != nil || pf != nil && inspectProcess(pf.pid, l.data) == ours {
		return done, errors.Join(err, fmt.Errorf("%w: the PostgreSQL of an earlier run still runs on it", ErrInUse))
	}
	side := l
	side.data = filepath.Join(l.cluster, upgrading)
	if err := (&Server{layout: side, log: o.Logger}).stopLeftBehind(ctx); err != nil {
		return done, err
	}
	if err := os.RemoveAll(side.data); err != nil {
		return done, fmt.Errorf("remove what an upgrade left that was cut short: %w", err)
	}
	if err := side.initdb(ctx, newest, who, side.data, o.Disposable); err != nil {
		return done, err
	}
	if err := during(ctx, &Server{layout: side, log: o.Logger}, newest, who, o, load); err != nil {
		return done, errors.Join(err, os.RemoveAll(side.data))
	}
	done.Old = l.nameOfOld(done.From)
	if err := os.Rename(l.data, done.Old); err != nil {
		return done, fmt.Errorf("put the old data aside: %w", err)
	}
	_, err = l.lastStep(done.Old)
	return done, err
}

// during runs a server on the data of its layout while do works with it, and
// stops it in order.
func during(ctx context.Context, s *Server, bin installation, who account, o Options, do func(context.Context, Addresses) error) error {
	err := s.run(ctx, bin, who, o)
	if err == nil {
		err = s.ensureDatabase(ctx)
	}
	if err == nil {
		err = do(ctx, s.Addresses())
	}
	if s.exited == nil {
		return err
	}
	stopping, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Minute)
	defer cancel()
	err = errors.Join(err, s.stopServer(stopping))
	if s.short {
		os.Remove(s.socket) // fails, as it should, when anything is left in it
	}
	return err
}

// stopLeftBehind stops the server of an upgrade that was killed.
func (s *Server) stopLeftBehind(ctx context.Context) error {
	pf, err := s.layout.readPidFile()
	if err != nil || pf == nil || inspectProcess(pf.pid, s.layout.data) != ours {
		return err
	}
	return s.stopUnreachable(ctx, pf.pid)
}

// versions finds the server that wrote the data, unless it is not needed, and the
// newest one.
func (l layout) versions(o Options, needOld bool) (old, newest installation, err error) {
	major, err := l.dataMajor()
	if err != nil {
		return old, newest, err
	}
	if major == 0 {
		return old, newest, fmt.Errorf("there is no private PostgreSQL in %s yet", l.root)
	}
	places := usualLookup("")
	if newest, err = places.newest(o.BinDir); err != nil {
		return old, newest, err
	}
	if newest.major < major {
		_, err = places.find(major)
		return old, newest, cmp.Or(err, fmt.Errorf("%w: the data is of version %d already", ErrUpToDate, major))
	}
	if newest.major == major {
		return old, newest, fmt.Errorf("%w: the data is of version %d, and the newest installed is %d", ErrUpToDate, major, newest.major)
	}
	if !needOld {
		return installation{major: major}, newest, nil
	}
	old, err = places.find(major)
	return old, newest, err
}

// newest is the newest of the installed versions, or the one in a directory that
// was given.
func (l lookup) newest(given string) (newest installation, err error) {
	if given != "" {
		l.explicit = given
		return l.find(0)
	}
	for _, i := range l.installations() {
		if i.major > newest.major {
			newest = i
		}
	}
	if newest.major < OldestMajor {
		return l.find(0) // which says what to install
	}
	return newest, nil
}

// roomToUpgrade returns nil when the disk has room for the data once more, and
// for its records in a file.
func (l layout) roomToUpgrade() error {
	const spare = 512 << 20
	var size uint64
	err := filepath.WalkDir(l.data, func(_ string, e fs.DirEntry, err error) error {
		if err != nil || !e.Type().IsRegular() {
			return err
		}
		info, err := e.Info()
		if err == nil {
			size += uint64(info.Size())
		}
		return err
	})
	if err != nil {
		return fmt.Errorf("measure the data: %w", err)
	}
	var stat syscall.Statfs_t
	if err := syscall.Statfs(l.root, &stat); err != nil {
		return fmt.Errorf("ask how full the disk of %s is: %w", l.root, err)
	}
	free := stat.Bavail * uint64(stat.Bsize)
	if needed := size + size/2 + spare; free < needed {
		return fmt.Errorf("the upgrade needs %d MB free in %s, and %d MB are", needed>>20, l.root, free>>20)
	}
	return nil
}

// nameOfOld is a free name for the data of before.
func (l layout) nameOfOld(major int) string {
	name := fmt.Sprintf("%s.postgresql-%d", l.data, major)
	for n := 2; ; n++ {
		if _, err := os.Lstat(name); os.IsNotExist(err) {
			return name
		}
		name = fmt.Sprintf("%s.postgresql-%d.%d", l.data, major, n)
	}
}

// cutShort finds the old data when an upgrade has put it aside and the new one,
// which is proved, is not in its place yet; "" else.
func (l layout) cutShort() (old string) {
	if _, err := os.Lstat(l.data); !os.IsNotExist(err) {
		return ""
	}
	if _, err := os.Lstat(filepath.Join(l.cluster, upgrading)); err != nil {
		return ""
	}
	kept, _ := filepath.Glob(escapeGlob(l.data) + ".postgresql-*")
	for _, dir := range kept { // the one put aside last
		if old == "" || later(dir, old) {
			old = dir
		}
	}
	return old
}

func later(a, b string) bool {
	first, err1 := os.Stat(a)
	second, err2 := os.Stat(b)
	return err1 == nil && err2 == nil && first.ModTime().After(second.ModTime())
}

// lastStep gives the new data its name.
func (l layout) lastStep(old string) (done Upgraded, err error) {
	aside := l
	aside.data = old
	if done.From, err = aside.dataMajor(); err != nil {
		return done, err
	}
	done.Old = old
	if err := os.Rename(filepath.Join(l.cluster, upgrading), l.data); err != nil {
		return done, fmt.Errorf("put the new data in place: %w", err)
	}
	if err := syncDir(l.cluster); err != nil {
		return done, fmt.Errorf("put the new data in place: %w", err)
	}
	done.To, err = l.dataMajor()
	return done, err
}
