package notify_test

import (
	"bytes"
	"fmt"
	"net/mail"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"pryday/notify"
	"pryday/notify/smtp"
)

func maildirNew(t testing.TB, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(filepath.Join(dir, "new"))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

func TestMaildir(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "mail")
	d, err := notify.NewMaildir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for i := range 50 {
		wg.Go(func() {
			if o := d.Send(t.Context(), letterTo(t, fmt.Sprintf("%d@club.test", i), "kay@keepers.test")); o.Verdict != smtp.Delivered {
				t.Errorf("message %d: %+v", i, o)
			}
		})
	}
	wg.Wait()
	names := maildirNew(t, dir)
	if len(names) != 50 {
		t.Errorf("%d messages in new, want 50", len(names))
	}
	// The shape of a name, as the page of D. J. Bernstein on Maildir has it
	// (from memory): no colon and no slash, seconds and the machine at the ends.
	shape := regexp.MustCompile(`^\d+\.[A-Za-z0-9]+\.[^:/]+$`)
	ids := map[string]bool{}
	for _, n := range names {
		if !shape.MatchString(n) {
			t.Errorf("name %q", n)
		}
		text, err := os.ReadFile(filepath.Join(dir, "new", n))
		if err != nil {
			t.Fatal(err)
		}
		m, err := mail.ReadMessage(bytes.NewReader(text))
		if err != nil {
			t.Fatalf("%s: %v", n, err)
		}
		ids[m.Header.Get("Message-ID")] = true
		if bytes.Contains(text, []byte("\r")) {
			t.Errorf("%s holds a carriage return", n)
		}
		if m.Header.Get("Return-Path") != "<pryday@club.test>" {
			t.Errorf("Return-Path %q", m.Header.Get("Return-Path"))
		}
	}
	if len(ids) != 50 {
		t.Errorf("%d different messages, want 50", len(ids))
	}
	if left, _ := os.ReadDir(filepath.Join(dir, "tmp")); len(left) != 0 {
		t.Errorf("%d files left in tmp", len(left))
	}
	for _, sub := range []string{"", "tmp", "new", "cur"} {
		if info, err := os.Stat(filepath.Join(dir, sub)); err != nil || info.Mode().Perm() != 0o700 {
			t.Errorf("%s: %v, %v; want 0700", sub, info.Mode(), err)
		}
	}
}

// TestMaildirGone: a folder that cannot be written is worth a retry and says
// where the trouble is.
func TestMaildirGone(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "mail")
	d, err := notify.NewMaildir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(filepath.Join(dir, "tmp")); err != nil {
		t.Fatal(err)
	}
	o := d.Send(t.Context(), letterTo(t, "one@club.test", "kay@keepers.test"))
	if o.Verdict != smtp.Later || !strings.Contains(o.Reply, dir) {
		t.Errorf("got %+v", o)
	}
	if _, err := notify.NewMaildir(dir); err != nil {
		t.Fatal(err)
	}
	if o := d.Send(t.Context(), letterTo(t, "one@club.test", "kay@keepers.test")); o.Verdict != smtp.Delivered {
		t.Errorf("after repair: %+v", o)
	}
}
