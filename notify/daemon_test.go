package notify_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strconv"
	"testing"
	"time"

	"pryday/notify"
	"pryday/notify/smtp"
	"pryday/store"
	"pryday/store/storetest"
)

// The test binary, started anew with this variable, is a daemon that can be
// killed.
const daemonMode = "PRYDAY_TEST_DAEMON"

func TestMain(m *testing.M) {
	if mode := os.Getenv(daemonMode); mode != "" {
		if err := runDaemon(mode); err != nil {
			fmt.Fprintln(os.Stderr, "daemon:", err)
			os.Exit(1)
		}
		return
	}
	storetest.Main(m)
}

// stuckSender says that it sends and never comes to an end.
type stuckSender struct{}

func (stuckSender) Send(context.Context, *smtp.Letter) smtp.Outcome {
	fmt.Println("sending")
	select {}
}
func (stuckSender) Close() error { return nil }

// runDaemon works until its standard input closes, which it does when the
// test dies too.
func runDaemon(mode string) error {
	ctx := context.Background()
	st, err := store.Open(ctx, store.Config{URL: storetest.Serving(os.Getenv("PRYDAY_TEST_DATABASE")), Apart: true, MaxConns: 6})
	if err != nil {
		return err
	}
	defer st.Close()
	port, err := strconv.Atoi(os.Getenv("PRYDAY_TEST_PORT"))
	if err != nil {
		return err
	}
	civil, err := time.Parse(time.RFC3339, os.Getenv("PRYDAY_TEST_CIVIL"))
	if err != nil {
		return err
	}
	var sender notify.Sender = stuckSender{}
	if mode != "stuck" {
		if sender, err = smtp.New(smtp.Config{Host: "127.0.0.1", Port: port, TLS: smtp.TLSNone, Helo: os.Getenv("PRYDAY_TEST_HELO")}); err != nil {
			return err
		}
	}
	n, err := newService(ctx, st, sender, &fixedClock{civil: civil})
	if err != nil {
		return err
	}
	if mode != "patient" {
		n.Hurry(3*time.Second, 4*time.Second)
	}
	if err := n.Start(ctx); err != nil {
		return err
	}
	fmt.Println("started")
	io.Copy(io.Discard, os.Stdin)
	ctx, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	return n.Stop(ctx)
}

// daemon is one child process.
type daemon struct {
	cmd   *exec.Cmd
	stdin io.Closer
	lines *bufio.Reader
}

func (b *fixture) daemon(t testing.TB, mode, helo string, port int) *daemon {
	t.Helper()
	d := &daemon{cmd: exec.Command(os.Args[0])}
	d.cmd.Env = append(os.Environ(), daemonMode+"="+mode, "PRYDAY_TEST_DATABASE="+b.url, "PRYDAY_TEST_PORT="+strconv.Itoa(port),
		"PRYDAY_TEST_CIVIL="+b.clock.civil.Format(time.RFC3339), "PRYDAY_TEST_HELO="+helo)
	d.cmd.Stderr = os.Stderr
	out, err := d.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if d.stdin, err = d.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	d.lines = bufio.NewReader(out)
	if err := d.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(d.kill)
	return d
}

// expect reads the daemon's output up to a line.
func (d *daemon) expect(t testing.TB, want string) {
	t.Helper()
	defer time.AfterFunc(20*time.Second, func() { d.cmd.Process.Kill() }).Stop()
	for {
		line, err := d.lines.ReadString('\n')
		if err != nil {
			t.Fatalf("the daemon ended before it said %q: %v", want, err)
		}
		if line == want+"\n" {
			return
		}
	}
}

// kill ends the daemon with signal 9.
func (d *daemon) kill() {
	d.cmd.Process.Kill()
	d.cmd.Wait()
}

// stop lets it end by itself.
func (d *daemon) stop(t testing.TB) {
	t.Helper()
	d.stdin.Close()
	io.Copy(io.Discard, d.lines)
	if err := d.cmd.Wait(); err != nil {
		t.Errorf("the daemon stopped with %v", err)
	}
}
