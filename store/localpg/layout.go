package localpg

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// ErrInUse says that another daemon holds the state directory.
var ErrInUse = errors.New("the state directory is in use")

// ErrNotRunning says that no private Postgres runs in a state directory.
var ErrNotRunning = errors.New("no private PostgreSQL is running")

// layout names what lies in a state directory. The lock and the log belong to the
// daemon, the cluster directory and all in it to the server's account: root never
// writes through names that the server's account could have replaced.
type layout struct {
	root    string // the state directory, symlinks resolved
	cluster string // all that is the server's
	data    string // PGDATA
	log     string
	lock    string
}

func newLayout(stateDir string) layout {
	cluster := filepath.Join(stateDir, "postgres")
	return layout{
		root:    stateDir,
		cluster: cluster,
		data:    filepath.Join(cluster, "data"),
		log:     filepath.Join(stateDir, "postgres.log"),
		lock:    filepath.Join(stateDir, "postgres.lock"),
	}
}

// makeStateDir creates the state directory and resolves it, so that a server can
// be recognised by its path whatever name the directory was given by.
func makeStateDir(dir string) (layout, error) {
	mode := os.FileMode(0o700)
	if os.Getuid() == 0 {
		mode = 0o755 // the server's account has to pass through
	}
	if err := os.MkdirAll(dir, mode); err != nil {
		return layout{}, fmt.Errorf("create the state directory: %w", err)
	}
	return existingLayout(dir)
}

func existingLayout(dir string) (layout, error) {
	real, err := filepath.EvalSymlinks(dir)
	if err != nil {
		return layout{}, fmt.Errorf("state directory: %w", err)
	}
	return newLayout(real), nil
}

// dataMajor is the major version of Postgres that wrote the data, 0 without data.
func (l layout) dataMajor() (int, error) {
	file := filepath.Join(l.data, "PG_VERSION")
	text, err := os.ReadFile(file)
	switch {
	case os.IsNotExist(err):
		if _, statErr := os.Lstat(l.data); statErr == nil {
			return 0, fmt.Errorf("%s is not a PostgreSQL data directory (PG_VERSION is missing): move it away or restore it", l.data)
		}
		return 0, nil
	case err != nil:
		return 0, err
	}
	major, err := strconv.Atoi(strings.TrimSpace(string(text)))
	if err != nil {
		return 0, fmt.Errorf("%s holds %q, not a major version", file, text)
	}
	return major, nil
}

// HasData reports whether a state directory (empty means DefaultStateDir) has the
// data of a private Postgres, without making any.
func HasData(stateDir string) (bool, error) {
	o, err := Options{StateDir: stateDir}.withDefaults()
	if err != nil {
		return false, err
	}
	major, err := newLayout(o.StateDir).dataMajor()
	return major != 0, err
}

// takeLock makes this daemon the only one on the state directory. The kernel
// drops the lock when the daemon dies, however it dies; the server does not
// inherit it, so a server left behind does not hold it.
func (l layout) takeLock() (*os.File, error) {
	f, err := l.openOwn(l.lock, os.O_RDWR)
	if err != nil {
		return nil, fmt.Errorf("lock the state directory: %w", err)
	}
	// A daemon that was just killed may take a moment to be gone.
	for try := 0; ; try++ {
		err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		if err == nil || try == 10 || !errors.Is(err, syscall.EWOULDBLOCK) && !errors.Is(err, syscall.EINTR) {
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	if errors.Is(err, syscall.EWOULDBLOCK) {
		holder, _ := os.ReadFile(l.lock)
		f.Close()
		return nil, fmt.Errorf("%w: another pryday (process %s) runs on %s: stop that one, or give this one another state directory",
			ErrInUse, strings.TrimSpace(string(holder)), l.root)
	}
	if err != nil {
		f.Close()
		return nil, fmt.Errorf("lock %s: %w", l.lock, err)
	}
	if err := f.Truncate(0); err != nil {
		f.Close()
		return nil, fmt.Errorf("write %s: %w", l.lock, err)
	}
	if _, err := fmt.Fprintln(f, os.Getpid()); err != nil {
		f.Close()
		return nil, fmt.Errorf("write %s: %w", l.lock, err)
	}
	return f, nil
}

// openOwn opens or creates a file of the daemon's, never through a link. A command
// that root runs on a state directory of another account leaves no file there that
// the account's daemon could not open.
func (l layout) openOwn(path string, flags int) (*os.File, error) {
	f, err := os.OpenFile(path, flags|os.O_CREATE|syscall.O_NOFOLLOW, 0o600)
	if err != nil || os.Getuid() != 0 {
		return f, err
	}
	owner, err := ownerOf(l.root)
	if err == nil && owner != nil {
		err = f.Chown(owner.uid, owner.gid)
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}
