package main

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/testdata/testrun"
)

// TestDemo begins the story at an hour at which the club's mail is not out yet
// here, and finds the mail of its morning in the folder all the same.
func TestDemo(t *testing.T) {
	state, err := os.MkdirTemp("", "pryday-demo-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(state) })
	if err := os.Chmod(state, 0o711); err != nil { // started by root, PostgreSQL runs as another account
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	out := &lines{found: make(chan string, 1), want: regexp.MustCompile(`(http://[0-9.:]+/sign-in/[a-z2-7]+)\n`)}
	errs := &lines{found: make(chan string, 1), want: regexp.MustCompile(`(never)`)}
	done := make(chan int, 1)
	go func() {
		done <- run(ctx, []string{"demo", "--listen", "127.0.0.1:0", "--state-dir", state}, &terminal{in: strings.NewReader(""), out: out, err: errs, now: time.Now})
	}()
	select {
	case <-out.found:
		testrun.Until(t, "a mail is in the folder", func() bool {
			mails, err := filepath.Glob(filepath.Join(state, "mail", "new", "*"))
			return err == nil && len(mails) > 0
		})
	case status := <-done:
		t.Fatalf("the demo ended with status %d\n%s", status, errs.text())
	case <-time.After(2 * time.Minute):
		t.Errorf("the demo did not come up\n%s", errs.text())
	}
	cancel()
	if status := <-done; status != 0 {
		t.Errorf("the demo ended with status %d\n%s", status, errs.text())
	}
	if want := "Wickerbrook Beekeepers, on Thursday 29 April 2027"; !strings.Contains(out.text(), want) {
		t.Errorf("not %q: %s", want, out.text())
	}
}

func TestStoryBeginsInTheMorning(t *testing.T) {
	day := scheduler.NewDate(2027, time.April, 29)
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	for hour := range 24 {
		now := time.Date(2026, time.January, 5, hour, 59, 59, 0, time.UTC)
		got := now.Add(storyClock(day, zone, now).By).In(zone)
		if want := time.Date(2027, time.April, 29, 7, 30, 0, 0, zone); got.Sub(want).Abs() > time.Minute {
			t.Errorf("at %s the story begins at %s", now, got)
		}
	}
}
