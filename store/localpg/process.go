package localpg

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
)

// process tells what a process number from a lock file stands for now.
type process int

const (
	gone   process = iota // nothing has that number
	zombie                // dead, not yet reaped: the number still counts as taken
	other                 // alive, but not the server of this data directory
	ours                  // the server of this data directory
)

// inspectProcess recognises the server by its command line, which is readable
// even where /proc/PID/cwd is not (root without CAP_SYS_PTRACE in a container).
func inspectProcess(pid int, dataDir string) process {
	if pid <= 0 {
		return gone
	}
	if err := syscall.Kill(pid, 0); errors.Is(err, syscall.ESRCH) {
		return gone
	}
	dead, args := describeProcess(pid)
	switch {
	case dead:
		return zombie
	case len(args) > 1 && isServerName(args[0]) && slices.Contains(args[1:], dataDir):
		return ours
	}
	return other
}

// isServer tells whether a living Postgres, of whatever data directory, has the
// number.
func isServer(pid int) bool {
	if pid <= 0 || errors.Is(syscall.Kill(pid, 0), syscall.ESRCH) {
		return false
	}
	dead, args := describeProcess(pid)
	return !dead && len(args) > 0 && isServerName(args[0])
}

func isServerName(path string) bool {
	name := filepath.Base(path)
	return name == "postgres" || name == "postmaster"
}

func describeProcess(pid int) (dead bool, args []string) {
	dir := filepath.Join("/proc", strconv.Itoa(pid))
	if stat, err := os.ReadFile(filepath.Join(dir, "stat")); err == nil {
		// The state follows the name, which may itself hold spaces and parentheses.
		rest := stat[bytes.LastIndexByte(stat, ')')+1:]
		if state := strings.Fields(string(rest)); len(state) > 0 && (state[0] == "Z" || state[0] == "X") {
			return true, nil
		}
		line, _ := os.ReadFile(filepath.Join(dir, "cmdline"))
		return false, strings.Split(strings.TrimRight(string(line), "\x00"), "\x00")
	}
	// No /proc (macOS). A path with spaces comes back in pieces, so look for it whole.
	cmd := exec.Command("ps", "-o", "stat=", "-o", "args=", "-p", strconv.Itoa(pid))
	cmd.Dir = "/"
	out, err := cmd.Output()
	if err != nil {
		return false, nil
	}
	state, line, _ := strings.Cut(strings.TrimSpace(string(out)), " ")
	if strings.HasPrefix(state, "Z") {
		return true, nil
	}
	name, rest, _ := strings.Cut(strings.TrimSpace(line), " -D ")
	dir, _, _ = strings.Cut(rest, " -c ")
	return false, []string{name, dir}
}
