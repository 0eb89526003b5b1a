package storetest

import (
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"syscall"
)

// watch waits for the end of its input, which is the end of the test process, be
// it by a passed test, a panic, a timeout or a kill; then it ends the server
// without ceremony and clears away its files. Its number alone does not tell that
// it has ended: where nothing reaps, it stays taken.
const watch = `
read -r _
kill -QUIT "$1" 2>/dev/null
tries=100
while [ $tries -gt 0 ] && [ -e "$2/postgres/data/postmaster.pid" ] && kill -0 "$1" 2>/dev/null; do
	sleep 0.05
	tries=$((tries - 1))
done
rm -rf "$2"
`

// endWithProcess starts the watchdog and gives its input, which is never written
// to and must be kept: closed, by whoever, it lets go.
func endWithProcess(pid int, dir string) (*os.File, error) {
	read, write, err := os.Pipe()
	if err != nil {
		return nil, err
	}
	defer read.Close()
	cmd := exec.Command("/bin/sh", "-c", watch, "storetest-watchdog", strconv.Itoa(pid), dir)
	cmd.Dir = "/"
	cmd.Stdin = read // no output: "go test" waits for whoever holds its own
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true}
	if err := cmd.Start(); err != nil {
		write.Close()
		return nil, fmt.Errorf("start the watchdog of the test server: %w", err)
	}
	return write, nil
}
