//go:build postfix

// These need smtp-sink and smtp-source of the package postfix on the PATH or
// in /usr/sbin: go test -tags postfix ./notify

package notify_test

import (
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pryday/notify"
)

func tool(t testing.TB, name string) string {
	t.Helper()
	if path, err := exec.LookPath(name); err == nil {
		return path
	}
	path := filepath.Join("/usr/sbin", name)
	if _, err := os.Stat(path); err != nil {
		t.Fatalf("%s is missing; it comes with the package postfix", name)
	}
	return path
}

// postfixSink runs smtp-sink and returns its port.
func postfixSink(t testing.TB, flags ...string) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	port := l.Addr().(*net.TCPAddr).Port
	l.Close()
	if os.Getuid() == 0 {
		flags = append([]string{"-u", "nobody"}, flags...)
	}
	cmd := exec.Command(tool(t, "smtp-sink"), append(flags, "127.0.0.1:"+strconv.Itoa(port), "100")...)
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	waitFor(t, 5*time.Second, "smtp-sink", func() bool {
		c, err := net.Dial("tcp", "127.0.0.1:"+strconv.Itoa(port))
		if err == nil {
			c.Close()
		}
		return err == nil
	})
	return port
}

// TestPostfixSink repeats the table of faults against a server that somebody
// else wrote.
func TestPostfixSink(t *testing.T) {
	tests := []struct {
		flags   []string
		verdict notify.Verdict
		phase   notify.Phase
		unsure  bool
		address bool
	}{
		{nil, notify.Delivered, notify.After, false, false},
		{[]string{"-e"}, notify.Delivered, notify.After, false, false}, // no ESMTP
		{[]string{"-8"}, notify.Delivered, notify.After, false, false}, // no 8BITMIME

		{[]string{"-r", "connect"}, notify.Later, notify.Connect, false, false},
		{[]string{"-r", "mail"}, notify.Later, notify.MailFrom, false, false},
		{[]string{"-r", "rcpt"}, notify.Later, notify.RcptTo, false, false},
		{[]string{"-r", "data"}, notify.Later, notify.Data, false, false},
		{[]string{"-r", "."}, notify.Later, notify.FinalDot, false, false},

		{[]string{"-f", "connect"}, notify.Later, notify.Connect, false, false},
		{[]string{"-f", "rcpt"}, notify.Never, notify.RcptTo, false, false}, // 5.3.0: not the address
		{[]string{"-f", "data"}, notify.Never, notify.Data, false, false},
		{[]string{"-f", "."}, notify.Never, notify.FinalDot, false, false},
		{[]string{"-f", "rcpt", "-B", "550 5.1.1 no such keeper"}, notify.Never, notify.RcptTo, false, true},

		{[]string{"-q", "connect"}, notify.Later, notify.Connect, false, false},
		{[]string{"-q", "ehlo"}, notify.Later, notify.Connect, false, false},
		{[]string{"-q", "mail"}, notify.Later, notify.MailFrom, false, false},
		{[]string{"-q", "rcpt"}, notify.Later, notify.RcptTo, false, false},
		{[]string{"-q", "data"}, notify.Later, notify.Data, false, false},
		{[]string{"-q", "."}, notify.Later, notify.FinalDot, true, false},

		{[]string{"-Q", "connect"}, notify.Later, notify.Connect, false, false},
		{[]string{"-Q", "mail"}, notify.Later, notify.MailFrom, false, false},
		{[]string{"-Q", "rcpt"}, notify.Later, notify.RcptTo, false, false},
		{[]string{"-Q", "data"}, notify.Later, notify.Data, false, false},
		{[]string{"-Q", "."}, notify.Later, notify.FinalDot, false, false},

		{[]string{"-w", "5"}, notify.Later, notify.Data, false, false}, // stalls at DATA
	}
	for _, tt := range tests {
		t.Run(strings.Join(tt.flags, " "), func(t *testing.T) {
			port := postfixSink(t, tt.flags...)
			o := sender(t, port, func(c *notify.SMTPConfig) { c.Timeout = 2 * time.Second }).Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test"))
			if o.Verdict != tt.verdict || o.Phase != tt.phase || o.Unsure != tt.unsure || o.BadAddress != tt.address {
				t.Errorf("got %+v", o)
			}
		})
	}
}

// BenchmarkAgainstSource compares rendering and handing over with smtp-source,
// which sends one message of the same size again and again, over 4
// connections each into one smtp-sink. They take turns, so that whatever else
// the machine does meets both, and the middle one of the ratios counts.
func BenchmarkAgainstSource(b *testing.B) {
	const rounds, n = 9, 600
	port := postfixSink(b, "-c")
	bed := newBed(b)
	for range b.N {
		var ratios, rates []float64
		size := 0
		for range rounds {
			var ours float64
			ours, size = bed.renderAndSend(b, port, n)
			source := exec.Command(tool(b, "smtp-source"), "-d", "-s", "4", "-m", strconv.Itoa(n), "-l", strconv.Itoa(size),
				"-f", "reminders@club.test", "-t", "kay@keepers.test", "127.0.0.1:"+strconv.Itoa(port))
			began := time.Now()
			if out, err := source.CombinedOutput(); err != nil {
				b.Fatalf("smtp-source: %v: %s", err, out)
			}
			ratios = append(ratios, ours*time.Since(began).Seconds()/n)
			rates = append(rates, ours)
		}
		slices.Sort(ratios)
		slices.Sort(rates)
		b.ReportMetric(rates[rounds/2], "messages/s")
		b.ReportMetric(ratios[rounds/2], "ratio")
		b.ReportMetric(float64(size), "bytes/message")
	}
}
