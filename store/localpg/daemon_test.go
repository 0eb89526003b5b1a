package localpg

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"go.uber.org/goleak"

	"pryday/testdata/testrun"
)

// The tests run daemons as processes of their own, since much of what matters
// here is what happens when one is killed: this test binary, started again with
// the state directory in its environment.
const stateEnv = "LOCALPG_TEST_STATE"

func TestMain(m *testing.M) {
	if dir := os.Getenv(stateEnv); dir != "" {
		os.Exit(beDaemon(dir))
	}
	goleak.VerifyTestMain(m, goleak.Cleanup(func(code int) {
		if binary != "" {
			os.RemoveAll(filepath.Dir(binary))
		}
		for _, dir := range used {
			os.RemoveAll(filepath.Dir(dir))
		}
		os.Exit(code)
	}))
}

// report is what such a daemon says on its standard output.
type report struct {
	URL     string
	PID     int
	Adopted bool
	Failed  string
}

func beDaemon(dir string) int {
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM, os.Interrupt)
	defer stop()
	out := json.NewEncoder(os.Stdout)
	s, err := Start(ctx, Options{
		StateDir: dir, Disposable: os.Getenv("LOCALPG_TEST_DURABLE") == "",
		Logger: slog.New(slog.NewTextHandler(os.Stderr, nil)),
	})
	if err != nil {
		out.Encode(report{Failed: err.Error()})
		return 1
	}
	out.Encode(report{URL: s.URL(), PID: s.PID(), Adopted: s.Adopted()})
	<-ctx.Done()
	if err := s.Stop(context.Background()); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

// binary is a copy of the test binary where every account may run it.
var (
	binary     string
	copyBinary = sync.OnceValue(func() error {
		self, err := os.Executable()
		if err != nil {
			return err
		}
		dir, err := os.MkdirTemp("", "localpg-binary-")
		if err != nil {
			return err
		}
		if err := os.Chmod(dir, 0o755); err != nil {
			return err
		}
		in, err := os.Open(self)
		if err != nil {
			return err
		}
		defer in.Close()
		out, err := os.OpenFile(filepath.Join(dir, "daemon"), os.O_CREATE|os.O_WRONLY, 0o755)
		if err != nil {
			return err
		}
		if _, err := io.Copy(out, in); err != nil {
			return err
		}
		binary = out.Name()
		return out.Close()
	})
)

type daemon struct {
	cmd  *exec.Cmd
	said chan report
	errs *daemonLog
	report
}

// daemonLog is what a daemon has written on its standard error so far.
type daemonLog struct {
	lock sync.Mutex
	text strings.Builder
}

func (l *daemonLog) Write(p []byte) (int, error) {
	l.lock.Lock()
	defer l.lock.Unlock()
	return l.text.Write(p)
}

func (l *daemonLog) String() string {
	l.lock.Lock()
	defer l.lock.Unlock()
	return l.text.String()
}

// begin starts a daemon without waiting for what it says.
func begin(t *testing.T, p person, dir string, env ...string) *daemon {
	t.Helper()
	if err := copyBinary(); err != nil {
		t.Fatal(err)
	}
	d := &daemon{cmd: exec.Command(binary), said: make(chan report, 1), errs: &daemonLog{}}
	d.cmd.Dir = "/"
	d.cmd.Env = append(append(os.Environ(), stateEnv+"="+dir), env...)
	d.cmd.Stderr = d.errs
	d.cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Credential: p.cred}
	stdout, err := d.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := d.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if d.cmd.ProcessState == nil {
			d.cmd.Process.Kill()
			d.cmd.Wait()
		}
	})
	go func() {
		var r report
		line, err := bufio.NewReader(stdout).ReadBytes('\n')
		if err == nil {
			err = json.Unmarshal(line, &r)
		}
		if err != nil {
			r.Failed = fmt.Sprintf("the daemon said nothing: %v", err)
		}
		d.said <- r
	}()
	return d
}

// try starts a daemon and waits until it says that it works or not.
func try(t *testing.T, p person, dir string, env ...string) *daemon {
	t.Helper()
	d := begin(t, p, dir, env...)
	d.listen(t)
	return d
}

// logged waits until the daemon has written something to its log.
func (d *daemon) logged(t *testing.T, text string) {
	t.Helper()
	testrun.Until(t, fmt.Sprintf("the daemon logs %q", text), func() bool { return strings.Contains(d.errs.String(), text) })
}

func (d *daemon) listen(t *testing.T) {
	t.Helper()
	select {
	case d.report = <-d.said:
	case <-time.After(time.Minute):
		t.Fatal("the daemon says nothing for a minute")
	}
}

func run(t *testing.T, p person, dir string, env ...string) *daemon {
	t.Helper()
	d := try(t, p, dir, env...)
	if d.Failed != "" {
		d.cmd.Wait()
		t.Fatalf("start: %s\n%s", d.Failed, d.errs)
	}
	return d
}

// kill ends the daemon as a crash or the system would.
func (d *daemon) kill(t *testing.T) {
	t.Helper()
	if err := d.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	d.cmd.Wait() // its error is that it was killed
}

// stop ends it in order and checks that nothing of it is left.
func (d *daemon) stop(t *testing.T, dir string) {
	t.Helper()
	d.cmd.Process.Signal(syscall.SIGTERM)
	if err := d.cmd.Wait(); err != nil {
		t.Fatalf("stop: %v\n%s", err, d.errs)
	}
	if isServer(d.PID) {
		t.Errorf("the server (process %d) outlived its daemon's orderly end", d.PID)
	}
	for _, left := range []string{"postgres/data/postmaster.pid", "postgres/run/.s.PGSQL.5432", "postgres/run/.s.PGSQL.5432.lock"} {
		if _, err := os.Lstat(filepath.Join(dir, left)); err == nil {
			t.Errorf("%s was left behind", left)
		}
	}
}

func killServer(t *testing.T, pid int) {
	t.Helper()
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	waitGone(t, pid)
}

func waitGone(t *testing.T, pid int) {
	t.Helper()
	testrun.Until(t, fmt.Sprintf("process %d ends", pid), func() bool { return !isServer(pid) })
}

func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	return conn
}

func exec1(t *testing.T, url, sql string) {
	t.Helper()
	conn := connect(t, url)
	defer conn.Close(context.Background())
	if _, err := conn.Exec(t.Context(), sql); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
}

func ask[T any](t *testing.T, url, sql string) T {
	t.Helper()
	conn := connect(t, url)
	defer conn.Close(context.Background())
	var v T
	if err := conn.QueryRow(t.Context(), sql).Scan(&v); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return v
}
