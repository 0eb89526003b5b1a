package faults

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pryday/store/localpg"
	"pryday/testdata/testrun"
)

// house is an installation: a state directory with a private PostgreSQL, and
// the daemon as a process of its own.
type house struct {
	*testing.T
	r       *result
	binary  string
	state   string
	address string // that people reach it at
	listen  string
	within  []string // what a command begins with, to run where the house stands
	seen    string   // where the state directory is seen from outside
	env     []string
	flags   []string // of the daemon
	mails   *postOffice
	ahead   time.Duration // of the program's clock

	running atomic.Pointer[process] // the daemon, or a command in its place; nil while there is none
	log     string
}

// process is the program while it runs.
type process struct {
	*exec.Cmd
	ended chan struct{} // closed when it has
}

// newHouse makes one without records; what is in the state directory comes from
// another, or if that is empty from nowhere.
func newHouse(t *testing.T, r *result, from string) *house {
	t.Helper()
	file, err := program()
	if err != nil {
		t.Fatal(err)
	}
	dir, err := os.MkdirTemp("", "pryday-faults-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	h := &house{T: t, r: r, binary: file, state: filepath.Join(dir, "state"), log: filepath.Join(dir, "log"), mails: newPostOffice(t)}
	h.copyFrom(from)
	h.listen = fmt.Sprintf("127.0.0.1:%d", testrun.FreePort(t))
	h.address = "http://" + h.listen
	t.Cleanup(func() {
		if t.Failed() {
			text, _ := os.ReadFile(h.log)
			t.Logf("the daemon's log ends:\n%s", text[max(0, len(text)-6000):])
		}
		h.end()
	})
	return h
}

// copyFrom puts another house's stopped state into the place of this one's.
func (h *house) copyFrom(state string) {
	h.Helper()
	if err := os.RemoveAll(h.state); err != nil {
		h.Fatal(err)
	}
	if state != "" {
		if out, err := exec.Command("cp", "-a", state, h.state).CombinedOutput(); err != nil { // with owners
			h.Fatalf("copy %s: %v\n%s", state, err, out)
		}
	}
}

// command is the program with the house's state directory.
func (h *house) command(args ...string) *exec.Cmd {
	line := append(append([]string{}, h.within...), h.binary)
	line = append(append(line, args...), "--state-dir", h.state)
	cmd := exec.Command(line[0], line[1:]...)
	cmd.Dir = "/"
	for _, v := range os.Environ() {
		if !strings.HasPrefix(v, "PRYDAY_") && !strings.HasPrefix(v, "LANG") {
			cmd.Env = append(cmd.Env, v)
		}
	}
	cmd.Env = append(cmd.Env, h.env...)
	return cmd
}

// mostOfACommand is more than any takes: a daemon that should refuse to serve, and
// serves, does not end by itself.
const mostOfACommand = 5 * time.Minute

// try runs a command; what it prints comes with the error.
func (h *house) try(args ...string) (string, error) {
	cmd := h.command(args...)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	err := cmd.Start()
	if err == nil {
		defer time.AfterFunc(mostOfACommand, func() { cmd.Process.Kill() }).Stop()
		err = cmd.Wait()
	}
	if err != nil {
		return out.String(), fmt.Errorf("pryday %s: %w\n%s%s", strings.Join(args, " "), err, &out, &errs)
	}
	return out.String(), nil
}

func (h *house) must(args ...string) string {
	h.Helper()
	out, err := h.try(args...)
	if err != nil {
		h.Fatal(err)
	}
	return out
}

// launch starts the daemon without waiting for it.
func (h *house) launch() {
	h.Helper()
	args := append([]string{"serve", "--listen", h.listen, "--public-url", h.address, "--mail-from", "Pryday <reminders@bees.example>",
		"--smtp-url", "smtp://" + h.mails.at + "?tls=none", "--backup", "off"}, h.flags...)
	h.mails.next()
	h.spawn(args...)
}

// spawn starts the program, which may be killed.
func (h *house) spawn(args ...string) {
	h.Helper()
	p := &process{h.command(args...), make(chan struct{})}
	log, err := os.OpenFile(h.log, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err == nil {
		defer log.Close()
		p.Stdout, p.Stderr = log, log
		err = p.Start()
	}
	if err != nil {
		h.Error(err)
		close(p.ended)
		return
	}
	h.running.Store(p)
	go func() { p.Wait(); close(p.ended) }()
}

// repeat gives a command that may be killed, and again until over says so of how
// it ended; line makes it up each time, and done waits until it is over.
func (h *house) repeat(over func(success bool) bool, line func() []string) (done func()) {
	h.spawn(line()...)
	through := make(chan struct{})
	go func() {
		defer close(through)
		for {
			p := h.running.Load()
			<-p.ended
			if over(p.ProcessState.Success()) {
				break
			}
			h.spawn(line()...)
		}
		h.running.Store(nil)
	}()
	return func() { <-through }
}

// start starts the daemon and waits until it is ready.
func (h *house) start() {
	h.Helper()
	h.launch()
	h.ready()
}

var probe = http.Client{Timeout: 5 * time.Second}

func (h *house) isReady() bool {
	res, err := probe.Get(h.address + "/readyz")
	if err != nil {
		return false
	}
	res.Body.Close()
	return res.StatusCode == http.StatusOK
}

func (h *house) ready() {
	h.Helper()
	p := h.running.Load()
	testrun.Until(h, "the service is ready", func() bool {
		if isClosed(p.ended) {
			h.Fatal("the daemon ended by itself")
		}
		return h.isReady()
	})
}

// stop ends the daemon in order.
func (h *house) stop() {
	h.Helper()
	p := h.running.Swap(nil)
	if p == nil {
		return
	}
	p.Process.Signal(syscall.SIGTERM)
	<-p.ended
	if code := p.ProcessState.ExitCode(); code != 0 {
		h.r.bad("the daemon stopped with status %d", code)
	}
}

// end leaves nothing running.
func (h *house) end() {
	if p := h.running.Swap(nil); p != nil {
		p.Process.Signal(syscall.SIGCONT)
		p.Process.Kill()
		<-p.ended
	}
	if pid := h.postgres(); pid != 0 {
		syscall.Kill(pid, syscall.SIGCONT)
		syscall.Kill(pid, syscall.SIGQUIT)
		testrun.Until(h, "PostgreSQL is gone", func() bool { return !alive(pid) })
	}
}

// postgres is the process number of the private PostgreSQL; 0 while there is none.
func (h *house) postgres() int {
	text, err := os.ReadFile(filepath.Join(h.files(), "postgres/data/postmaster.pid"))
	if err != nil {
		return 0
	}
	first, _, _ := strings.Cut(string(text), "\n")
	pid, err := strconv.Atoi(first)
	if err != nil || !alive(pid) {
		return 0
	}
	return pid
}

// files is where the state directory is seen from outside.
func (h *house) files() string { return cmp.Or(h.seen, h.state) }

func alive(pid int) bool {
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	return err == nil && !bytes.Contains(stat, []byte(") Z "))
}

// socket is the folder of PostgreSQL's socket, as it is seen from outside; empty
// while there is none.
func (h *house) socket() string {
	text, _ := os.ReadFile(filepath.Join(h.files(), "postgres/data/postmaster.pid"))
	lines := strings.Split(string(text), "\n")
	if len(lines) < 5 {
		return ""
	}
	return strings.TrimSuffix(h.seen, h.state) + lines[4]
}

// urlOf is the database's address for a role.
func (h *house) urlOf(role string) string {
	return "postgres:///pryday?" + url.Values{"host": {h.socket()}, "port": {"5432"}, "user": {role}, "sslmode": {"disable"}}.Encode()
}

// owner opens the database as its owner does.
func (h *house) owner() *pgx.Conn { h.Helper(); return h.connect(localpg.OwnerRole) }

// connect waits until PostgreSQL takes a connection.
func (h *house) connect(role string) *pgx.Conn {
	h.Helper()
	var conn *pgx.Conn
	testrun.Until(h, "PostgreSQL takes a connection", func() (ok bool) {
		var err error
		if h.socket() != "" {
			conn, err = pgx.Connect(h.Context(), h.urlOf(role))
			ok = err == nil
		}
		return ok
	})
	h.Cleanup(func() { conn.Close(context.Background()) })
	return conn
}

// ask reads rows as the owner, who sees all clubs.
func ask[T any](h *house, sql string, args ...any) (out []T) {
	h.Helper()
	defer h.wake()()
	conn := h.owner()
	defer conn.Close(context.Background())
	rows, err := conn.Query(h.Context(), sql, args...)
	if err == nil {
		out, err = pgx.CollectRows(rows, pgx.RowToStructByPos[T])
	}
	if err != nil {
		h.Fatalf("%s: %v", sql, err)
	}
	return out
}

// wake runs PostgreSQL where no daemon does; rest stops it.
func (h *house) wake() (rest func()) {
	h.Helper()
	if h.running.Load() != nil || h.postgres() != 0 {
		return func() {}
	}
	options := localpg.Options{StateDir: h.state}
	for _, v := range h.env {
		if bin, ok := strings.CutPrefix(v, "PRYDAY_POSTGRES_BIN="); ok {
			options.BinDir = bin
		}
	}
	server, err := localpg.Start(h.Context(), options)
	if err != nil {
		h.Fatal(err)
	}
	return func() { server.Stop(context.Background()) }
}

type one[T any] struct{ Value T }

// settled reports whether nothing waits to be planned or sent, but for mails that
// are put off until later.
func (h *house) settled() bool {
	rows := ask[one[int]](h, `
		SELECT (SELECT count(*) FROM river_job WHERE state IN ('available', 'running', 'retryable', 'pending')
		                                          OR state = 'scheduled' AND scheduled_at < now() + interval '30 s')
		     + (SELECT count(*) FROM message m WHERE state = 'owed' AND attempts = 0)`)
	return rows[0].Value == 0
}

func (h *house) settle() {
	h.Helper()
	testrun.Until(h, "all jobs are done", h.settled)
}
