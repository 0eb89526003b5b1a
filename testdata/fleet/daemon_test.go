package fleet

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"pryday/notify/smtp/smtptest"
	"pryday/testdata/testrun"
)

// build makes the program.
func build(t testing.TB) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "pryday")
	cmd := exec.Command("go", "build", "-o", path, "./cmd/pryday")
	cmd.Dir = "../.."
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, out)
	}
	return path
}

// daemon is one of the fleet, with a mail server that takes its mail alone.
type daemon struct {
	t       testing.TB
	name    string
	program string
	env     []string
	mail    *smtptest.Sink
	log     log
	cmd     *exec.Cmd
}

func newDaemon(t testing.TB, name, program string, settings ...string) *daemon {
	t.Helper()
	d := &daemon{t: t, name: name, program: program, mail: smtptest.NewSink(t)}
	d.mail.Pause = 20 * time.Millisecond // as a server on the next machine takes
	d.env = append(append(os.Environ(), settings...), "PRYDAY_LISTEN=127.0.0.1:0", "PRYDAY_STATE_DIR="+t.TempDir(), "PRYDAY_PUBLIC_URL=http://127.0.0.1",
		fmt.Sprintf("PRYDAY_SMTP_URL=smtp://127.0.0.1:%d", d.mail.Port), "PRYDAY_MAIL_FROM=bees@club.test")
	return d
}

// start starts it and waits until it listens.
func (d *daemon) start() {
	d.t.Helper()
	before := len(d.log.text())
	d.cmd = exec.Command(d.program, "serve")
	d.cmd.Env, d.cmd.Stderr = d.env, &d.log
	if err := d.cmd.Start(); err != nil {
		d.t.Fatal(err)
	}
	d.t.Cleanup(d.kill)
	testrun.Until(d.t, d.name+" serves", func() bool { return strings.Contains(d.log.text()[before:], "serving") })
}

// kill ends it with signal 9.
func (d *daemon) kill() {
	d.cmd.Process.Kill()
	d.cmd.Wait()
}

// stop lets it end by itself.
func (d *daemon) stop() {
	d.t.Helper()
	d.cmd.Process.Signal(syscall.SIGTERM)
	if err := d.cmd.Wait(); err != nil {
		d.t.Errorf("%s ended with %v\n%s", d.name, err, d.log.text())
	}
}

var address = regexp.MustCompile(`serving.* address=(http://[0-9.:]+)`)

// get asks for a page or calendar.
func (d *daemon) get(path string) (status int, body string) {
	all := address.FindAllStringSubmatch(d.log.text(), -1)
	ctx, cancel := context.WithTimeout(context.Background(), 15*time.Second)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, all[len(all)-1][1]+path, nil)
	if err != nil {
		d.t.Fatal(err)
	}
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	res, err := client.Do(req)
	if err != nil {
		return 0, err.Error()
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		return 0, err.Error()
	}
	return res.StatusCode, string(text)
}

// planned is for how many clubs it planned a day.
func (d *daemon) planned() int { return strings.Count(d.log.text(), "msg=planned") }

// log keeps what a daemon writes.
type log struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (l *log) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.Write(p)
}

func (l *log) text() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.String()
}
