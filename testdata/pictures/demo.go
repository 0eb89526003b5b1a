package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"regexp"
	"strings"
)

// demo is the invented club, served until stop.
type demo struct {
	signIn string // the organiser's sign-in address
	cmd    *exec.Cmd
	state  string
}

var signInAddress = regexp.MustCompile(`http://\S+/sign-in/\S+`)

// startDemo runs the program's demo in a folder of its own, at a free port, in
// English, and waits until it says where to sign in.
func startDemo(ctx context.Context, program string) (*demo, error) {
	state, err := os.MkdirTemp("", "pryday-pictures-")
	if err == nil {
		err = os.Chmod(state, 0o711) // started by root, PostgreSQL runs as another account
	}
	if err != nil {
		return nil, err
	}
	d := &demo{state: state, cmd: exec.CommandContext(ctx, program, "demo", "--listen", "127.0.0.1:0", "--state-dir", state)}
	d.cmd.Cancel = func() error { return d.cmd.Process.Signal(os.Interrupt) }
	d.cmd.Env = append(os.Environ(), "LC_ALL=en_US.UTF-8")
	d.cmd.Stderr = os.Stderr
	out, err := d.cmd.StdoutPipe()
	if err == nil {
		err = d.cmd.Start()
	}
	if err != nil {
		return nil, errors.Join(err, os.RemoveAll(state))
	}
	var said strings.Builder
	lines := bufio.NewScanner(out)
	for d.signIn == "" && lines.Scan() {
		said.WriteString(lines.Text() + "\n")
		d.signIn = signInAddress.FindString(lines.Text())
	}
	if d.signIn == "" {
		return nil, errors.Join(fmt.Errorf("the demo named no sign-in address:\n%s", &said), d.stop())
	}
	go io.Copy(io.Discard, out) // so that it never waits for a reader
	return d, nil
}

// stop ends the demo as Ctrl-C does.
func (d *demo) stop() error {
	_ = d.cmd.Process.Signal(os.Interrupt) // it may have ended by itself: Wait says how
	return errors.Join(d.cmd.Wait(), os.RemoveAll(d.state))
}
