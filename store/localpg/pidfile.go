package localpg

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// pidFile is what a running server writes into postmaster.pid (miscadmin.h,
// LOCK_FILE_LINE_*): process, data directory, start, port, socket directory,
// TCP address, shared memory key, status.
type pidFile struct {
	pid    int
	socket string // its directory
	ready  bool
}

func (l layout) pidPath() string { return filepath.Join(l.data, "postmaster.pid") }

// readPidFile gives nil when there is none. A file cut short (disk full, or read
// while it is being written) yields what it has.
func (l layout) readPidFile() (*pidFile, error) {
	text, err := os.ReadFile(l.pidPath())
	if os.IsNotExist(err) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the server's lock file: %w", err)
	}
	return parsePidFile(string(text)), nil
}

func parsePidFile(text string) *pidFile {
	lines := strings.Split(text, "\n")
	line := func(n int) string {
		if n <= len(lines) {
			return strings.TrimSpace(lines[n-1])
		}
		return ""
	}
	pid, err := strconv.Atoi(line(1))
	if err != nil || pid < 0 {
		pid = 0
	}
	return &pidFile{pid: pid, socket: line(5), ready: line(8) == "ready"}
}
