package main

import (
	"fmt"
	"net"
	"os"
	"strconv"
	"syscall"
)

// firstPassed is the first descriptor that whoever starts the program passes on.
const firstPassed = 3

// listen listens at an address, or at the socket that systemd passes on: that one
// stays open while the program is started anew, so that nobody who connects
// meanwhile is refused; they wait. (The protocol is that of sd_listen_fds(3).)
func listen(address string, getenv func(string) string) (net.Listener, error) {
	if getenv("LISTEN_PID") != strconv.Itoa(os.Getpid()) {
		return net.Listen("tcp", address)
	}
	if n := getenv("LISTEN_FDS"); n != "1" {
		return nil, fmt.Errorf("%q sockets are passed on (LISTEN_FDS), want 1", n)
	}
	syscall.CloseOnExec(firstPassed) // the database is not to have it
	passed := os.NewFile(firstPassed, "passed socket")
	defer passed.Close() // the listener has a copy
	l, err := net.FileListener(passed)
	if err != nil {
		return nil, fmt.Errorf("the socket passed on: %w", err)
	}
	return l, nil
}
