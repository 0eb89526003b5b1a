// Package demo runs the program's demo for whoever looks at it from outside.
package demo

import (
	"bufio"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"regexp"
	"strings"
)

// Demo is the invented club, served until Stop.
type Demo struct {
	SignIn   string // the organiser's sign-in address
	Calendar string // the club's calendar
	cmd      *exec.Cmd
	state    string
}

var (
	signInAddress   = regexp.MustCompile(`http://\S+/sign-in/\S+`)
	calendarAddress = regexp.MustCompile(`http://\S+/calendar/\S+`)
)

// Start runs the program's demo in a folder of its own, at a free port, in
// English, and waits until it says where to sign in and where its calendar is.
func Start(ctx context.Context, program string) (*Demo, error) {
	state, err := os.MkdirTemp("", "pryday-demo-")
	if err == nil {
		err = os.Chmod(state, 0o711) // started by root, PostgreSQL runs as another account
	}
	if err != nil {
		return nil, err
	}
	d := &Demo{state: state, cmd: exec.CommandContext(ctx, program, "demo", "--listen", "127.0.0.1:0", "--state-dir", state)}
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
	for d.Calendar == "" && lines.Scan() { // it comes after the other
		said.WriteString(lines.Text() + "\n")
		d.SignIn = cmp.Or(d.SignIn, signInAddress.FindString(lines.Text()))
		d.Calendar = calendarAddress.FindString(lines.Text())
	}
	if d.SignIn == "" || d.Calendar == "" {
		return nil, errors.Join(fmt.Errorf("the demo named no addresses:\n%s", &said), d.Stop())
	}
	go io.Copy(io.Discard, out) // so that it never waits for a reader
	return d, nil
}

// Stop ends the demo as Ctrl-C does, and takes its folder away.
func (d *Demo) Stop() error {
	_ = d.cmd.Process.Signal(os.Interrupt) // it may have ended by itself: Wait says how
	return errors.Join(d.cmd.Wait(), os.RemoveAll(d.state))
}
