//go:build postfix

// These need smtp-sink and smtp-source of the package postfix, on the PATH, in
// /usr/sbin or in bin/peers, where deploy/setup bench puts them.

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

	"pryday/notify/smtp"
	"pryday/testdata/testrun"
	"pryday/testdata/testrun/processor"
)

func tool(t testing.TB, name string) string {
	t.Helper()
	if path, err := exec.LookPath(name); err == nil {
		return path
	}
	for _, dir := range []string{"/usr/sbin", "../bin/peers"} {
		if path, err := filepath.Abs(filepath.Join(dir, name)); err == nil {
			if _, err := os.Stat(path); err == nil {
				return path
			}
		}
	}
	t.Fatalf("%s is missing (deploy/setup bench fetches it)", name)
	return ""
}

// postfixSink runs smtp-sink and returns its port.
func postfixSink(t testing.TB, flags ...string) int {
	t.Helper()
	port, _ := startSink(t, flags...)
	return port
}

func startSink(t testing.TB, flags ...string) (port, pid int) {
	t.Helper()
	port = testrun.FreePort(t)
	if os.Getuid() == 0 {
		flags = append([]string{"-u", "nobody"}, flags...)
	}
	cmd := exec.Command(tool(t, "smtp-sink"), append(flags, "127.0.0.1:"+strconv.Itoa(port), "100")...)
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	testrun.Until(t, "smtp-sink listens", func() bool {
		c, err := net.Dial("tcp", "127.0.0.1:"+strconv.Itoa(port))
		if err == nil {
			c.Close()
		}
		return err == nil
	})
	return port, cmd.Process.Pid
}

// TestPostfixSink repeats the table of faults against a server that somebody
// else wrote.
func TestPostfixSink(t *testing.T) {
	tests := []struct {
		flags   []string
		verdict smtp.Verdict
		phase   smtp.Phase
		unsure  bool
		address bool
	}{
		{nil, smtp.Delivered, smtp.After, false, false},
		{[]string{"-e"}, smtp.Delivered, smtp.After, false, false}, // no ESMTP
		{[]string{"-8"}, smtp.Delivered, smtp.After, false, false}, // no 8BITMIME

		{[]string{"-r", "connect"}, smtp.Later, smtp.Connect, false, false},
		{[]string{"-r", "mail"}, smtp.Later, smtp.MailFrom, false, false},
		{[]string{"-r", "rcpt"}, smtp.Later, smtp.RcptTo, false, false},
		{[]string{"-r", "data"}, smtp.Later, smtp.Data, false, false},
		{[]string{"-r", "."}, smtp.Later, smtp.FinalDot, false, false},

		{[]string{"-f", "connect"}, smtp.Later, smtp.Connect, false, false},
		{[]string{"-f", "rcpt"}, smtp.Never, smtp.RcptTo, false, false}, // 5.3.0: not the address
		{[]string{"-f", "data"}, smtp.Never, smtp.Data, false, false},
		{[]string{"-f", "."}, smtp.Never, smtp.FinalDot, false, false},
		{[]string{"-f", "rcpt", "-B", "550 5.1.1 no such keeper"}, smtp.Never, smtp.RcptTo, false, true},

		{[]string{"-q", "connect"}, smtp.Later, smtp.Connect, false, false},
		{[]string{"-q", "ehlo"}, smtp.Later, smtp.Connect, false, false},
		{[]string{"-q", "mail"}, smtp.Later, smtp.MailFrom, false, false},
		{[]string{"-q", "rcpt"}, smtp.Later, smtp.RcptTo, false, false},
		{[]string{"-q", "data"}, smtp.Later, smtp.Data, false, false},
		{[]string{"-q", "."}, smtp.Later, smtp.FinalDot, true, false},

		{[]string{"-Q", "connect"}, smtp.Later, smtp.Connect, false, false},
		{[]string{"-Q", "mail"}, smtp.Later, smtp.MailFrom, false, false},
		{[]string{"-Q", "rcpt"}, smtp.Later, smtp.RcptTo, false, false},
		{[]string{"-Q", "data"}, smtp.Later, smtp.Data, false, false},
		{[]string{"-Q", "."}, smtp.Later, smtp.FinalDot, false, false},

		{[]string{"-w", "5"}, smtp.Later, smtp.MailFrom, false, false},   // stalls at DATA, with all its replies
		{[]string{"-p", "-w", "5"}, smtp.Later, smtp.Data, false, false}, // without PIPELINING
		{[]string{"-p", "-r", "rcpt"}, smtp.Later, smtp.RcptTo, false, false},
		{[]string{"-p", "-f", "data"}, smtp.Never, smtp.Data, false, false},
		{[]string{"-p", "-q", "rcpt"}, smtp.Later, smtp.RcptTo, false, false},
		{[]string{"-p"}, smtp.Delivered, smtp.After, false, false},
	}
	for _, tt := range tests {
		t.Run(strings.Join(tt.flags, " "), func(t *testing.T) {
			port := postfixSink(t, tt.flags...)
			o := senderTo(t, port, func(c *smtp.Config) { c.Timeout = 2 * time.Second }).Send(t.Context(), letterTo(t, "one@club.test", "kay@keepers.test"))
			if o.Verdict != tt.verdict || o.Phase != tt.phase || o.Unsure != tt.unsure || o.BadAddress != tt.address {
				t.Errorf("got %+v", o)
			}
		})
	}
}

// ballast is what a daemon's calendars hold for the garbage collector.
var ballast []byte

// BenchmarkAgainstSource compares rendering and handing over with smtp-source,
// which sends one message of the same size again and again, over 4
// connections each into one smtp-sink. They take turns, so that whatever else
// the machine does meets both. Numbers are medians: how many messages a second
// for each one of smtp-source's (x-smtp-source), and the same by the processor
// time that sender and sink take for one (x-smtp-source-cpu), which other work
// on the machine sways less.
func BenchmarkAgainstSource(b *testing.B) {
	const rounds, n, reach = 9, 1500, 0.4
	ballast = make([]byte, 48<<20)
	defer func() { ballast = nil }()
	port, sink := startSink(b)
	bed := newFixture(b)
	for range b.N {
		var rates, times, ours, theirs []float64
		size := 0
		for range rounds {
			var mine float64
			before := processorTime(b, os.Getpid()) + processorTime(b, sink)
			mine, size = bed.renderAndSend(b, port, n)
			myTime := processorTime(b, os.Getpid()) + processorTime(b, sink) - before
			before = processorTime(b, sink)
			peer, itsTime := sourceSends(b, port, n, size)
			itsTime += processorTime(b, sink) - before
			rates, times, ours, theirs = append(rates, mine/peer), append(times, itsTime/myTime), append(ours, mine), append(theirs, peer)
		}
		b.ReportMetric(median(rates), "x-smtp-source")
		b.ReportMetric(median(times), "x-smtp-source-cpu")
		b.ReportMetric(median(ours), "messages/s")
		b.ReportMetric(median(theirs), "smtp-source-messages/s")
		b.ReportMetric(reach, "x-to-reach")
		b.ReportMetric(float64(size), "bytes/message")
		b.ReportMetric(0, "ns/op")
	}
}

// sourceSends has smtp-source send n messages and returns how many a second,
// and the seconds of processor time that it took for all.
func sourceSends(b *testing.B, port, n, size int) (rate, seconds float64) {
	b.Helper()
	source := exec.Command(tool(b, "smtp-source"), "-d", "-s", "4", "-m", strconv.Itoa(n), "-l", strconv.Itoa(size),
		"-f", "reminders@club.test", "-t", "kay@keepers.test", "127.0.0.1:"+strconv.Itoa(port))
	began := time.Now()
	if out, err := source.CombinedOutput(); err != nil {
		b.Fatalf("smtp-source: %v: %s", err, out)
	}
	rate = float64(n) / time.Since(began).Seconds()
	return rate, (source.ProcessState.UserTime() + source.ProcessState.SystemTime()).Seconds()
}

// processorTime is that of a process, in seconds.
func processorTime(b *testing.B, pid int) float64 {
	b.Helper()
	t, err := processor.Time(pid)
	if err != nil {
		b.Fatal(err)
	}
	return t.Seconds()
}

func median(x []float64) float64 { slices.Sort(x); return x[len(x)/2] }
