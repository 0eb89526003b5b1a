package main

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"regexp"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"

	"pryday/store/storetest"
	"pryday/testdata/testrun"
)

// child is the program in a process of its own, which listens at a socket that
// it was given.
type child struct {
	cmd *exec.Cmd
	log *lines
}

// startAt starts the program as systemd does.
func startAt(t *testing.T, socket *os.File, settings ...string) *child {
	t.Helper()
	// The shell knows the process that it becomes.
	c := &child{cmd: exec.Command("/bin/sh", "-c", `LISTEN_PID=$$ LISTEN_FDS=1 exec "$0" serve`, os.Args[0])}
	c.cmd.Env = append(append(os.Environ(), asCommand+"=1"), settings...)
	c.cmd.ExtraFiles = []*os.File{socket}
	c.log = &lines{found: make(chan string, 1), want: regexp.MustCompile(`address=(http://[0-9.:]+)`)}
	c.cmd.Stderr = c.log
	if err := c.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.cmd.Process.Kill(); c.cmd.Wait() })
	return c
}

// end tells it to stop and waits.
func (c *child) end(t *testing.T) {
	t.Helper()
	if err := c.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := c.cmd.Wait(); err != nil || t.Failed() {
		t.Errorf("it ended with %v\n%s", err, c.log.text())
	}
}

// TestRestartLosesNoRequest: with a socket that outlives the program, whoever
// asks while it is started anew is answered, at the latest by the next one.
func TestRestartLosesNoRequest(t *testing.T) {
	t.Parallel()
	socket, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer socket.Close()
	file, err := socket.(*net.TCPListener).File()
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	settings := []string{"PRYDAY_DATABASE_URL=" + storetest.Serving(storetest.New(t)), "PRYDAY_STATE_DIR=" + t.TempDir(), "PRYDAY_LISTEN=192.0.2.1:1"}
	address := "http://" + socket.Addr().String()

	running := startAt(t, file, settings...)
	var answered, stopping atomic.Int64
	var asking sync.WaitGroup
	for range 4 {
		asking.Go(func() {
			client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
			for n := 0; stopping.Load() == 0; n++ {
				var res *http.Response
				var err error
				if n%2 == 0 {
					res, err = client.Get(address + "/guide")
				} else {
					res, err = client.PostForm(address+"/sign-in", url.Values{"email": {fmt.Sprint(n, "@keepers.test")}})
				}
				if err != nil {
					t.Errorf("request %d was lost: %v", n, err)
					return
				}
				io.Copy(io.Discard, res.Body)
				res.Body.Close()
				if res.StatusCode >= 500 {
					t.Errorf("request %d: %s", n, res.Status)
					return
				}
				answered.Add(1)
			}
		})
	}
	more := func() {
		goal := answered.Load() + 40
		testrun.Until(t, "requests are answered", func() bool { return answered.Load() >= goal || t.Failed() })
	}
	more()
	for range 2 {
		running.end(t)
		running = startAt(t, file, settings...)
		more()
	}
	stopping.Store(1)
	asking.Wait()
	running.end(t)
	if t.Failed() {
		t.Log(running.log.text())
	}
}

// TestListenRefusesWhatItWasNotMeantFor: a socket of another process' is left alone,
// and several are too many.
func TestListenRefusesWhatItWasNotMeantFor(t *testing.T) {
	t.Parallel()
	env := map[string]string{"LISTEN_PID": "1", "LISTEN_FDS": "1"}
	l, err := listen("127.0.0.1:0", func(name string) string { return env[name] })
	if err != nil {
		t.Fatal(err)
	}
	l.Close()
	env["LISTEN_PID"], env["LISTEN_FDS"] = fmt.Sprint(os.Getpid()), "2"
	if l, err := listen("127.0.0.1:0", func(name string) string { return env[name] }); err == nil {
		l.Close()
		t.Error("two sockets were taken for one")
	}
}
