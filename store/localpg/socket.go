package localpg

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
)

const socketFile = ".s.PGSQL." + port

// longestSocketPath is what fits into sockaddr_un.sun_path with its final zero.
func longestSocketPath() int {
	if runtime.GOOS == "darwin" {
		return 103
	}
	return 107
}

// socketDir is where the server answers: where it did before, since that is the
// address that everybody has, or a new one.
func (s *Server) socketDir(a account) (dir string, short bool, err error) {
	if s.socket == "" {
		return s.layout.socketDir(a)
	}
	err = os.Mkdir(s.socket, 0o700)
	switch {
	case err == nil: // a cleaner of /tmp had taken it away
		err = a.give(s.socket)
	case os.IsExist(err) && ownedBy(s.socket, a.uid):
		err = nil
	}
	if err != nil {
		return "", false, fmt.Errorf("the socket's directory: %w", err)
	}
	return s.socket, s.short, nil
}

// socketDir makes the private directory of the socket: beside the data, or, where
// that path is too long for a socket or holds a comma (which separates hosts in an
// address), in a short directory of its own.
func (l layout) socketDir(a account) (dir string, short bool, err error) {
	dir = filepath.Join(l.cluster, "run")
	if len(filepath.Join(dir, socketFile)) <= longestSocketPath() && !strings.Contains(dir, ",") {
		if err := os.Mkdir(dir, 0o700); err != nil && !os.IsExist(err) {
			return "", false, fmt.Errorf("create the socket's directory: %w", err)
		}
		return dir, false, a.give(dir)
	}
	dir, err = l.shortSocketDir(a)
	return dir, true, err
}

func (l layout) shortSocketDir(a account) (string, error) {
	base := "/tmp"
	if run := os.Getenv("XDG_RUNTIME_DIR"); !a.drop && filepath.IsAbs(run) && len(run) < 40 && ownedBy(run, a.uid) {
		base = run
	}
	// The same name every time, so that a killed daemon leaves at most one behind.
	sum := sha256.Sum256([]byte(l.root))
	dir := filepath.Join(base, "pryday-"+strconv.Itoa(a.uid)+"-"+hex.EncodeToString(sum[:6]))
	err := os.Mkdir(dir, 0o700)
	if err == nil {
		return dir, a.give(dir)
	}
	if !os.IsExist(err) {
		return "", fmt.Errorf("create the socket's directory: %w", err)
	}
	// Anybody can put something of that name into /tmp. Use it only if it is a
	// directory (no link) that nobody else can enter; else take an unused name.
	if info, err := os.Lstat(dir); err == nil && info.IsDir() && info.Mode().Perm() == 0o700 && ownedBy(dir, a.uid) {
		return dir, nil
	}
	dir, err = os.MkdirTemp(base, "pryday-")
	if err != nil {
		return "", fmt.Errorf("create the socket's directory: %w", err)
	}
	return dir, a.give(dir)
}

func ownedBy(path string, uid int) bool {
	info, err := os.Lstat(path)
	return err == nil && info.Mode()&os.ModeSymlink == 0 && int(info.Sys().(*syscall.Stat_t).Uid) == uid
}

// removeSocket clears what a killed server left in its socket directory; its lock
// file there would stop the next server just as postmaster.pid does.
func removeSocket(dir string) {
	os.Remove(filepath.Join(dir, socketFile))
	os.Remove(filepath.Join(dir, socketFile+".lock"))
}
