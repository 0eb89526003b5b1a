package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"pryday/store"
	"pryday/store/backup"
)

func TestWhoeverAsksTooOftenIsToldToWait(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	setup, ansel := "/setup/guess", c.as("Ansel")
	// A rules file takes its turns from the same as records do, and so comes after.
	for _, tt := range []struct {
		name  string
		ask   func() *answer
		atAll int // answers before it is too often
	}{
		{"sign in", func() *answer { return c.stranger().post("/sign-in", fields("email", "nobody@example.org")) }, 150},
		{"set up", func() *answer { return c.stranger().get(setup) }, 20},
		{"uploads", func() *answer { return ansel.upload("/records", "a.json", "{", "do", "check") }, 20},
		{"rule file", func() *answer { return ansel.upload("/rules/upload", "a.toml", "?") }, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			n := 0
			got := tt.ask()
			for got.status != http.StatusTooManyRequests && n < 900 {
				n++
				got = tt.ask()
			}
			if n < tt.atAll || n == 900 {
				t.Errorf("held back after %d times", n)
			}
			got.says(http.StatusTooManyRequests, "Nothing was changed")
			if wait := got.header.Get("Retry-After"); wait != "5" && wait != "10" && wait != "20" {
				t.Errorf("Retry-After %q", wait)
			}
		})
	}
	if got := ansel.get("/"); got.status != http.StatusOK {
		t.Errorf("who is signed in is held back too: %d", got.status)
	}
}

func TestOneImportAtATime(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel := c.as("Ansel")
	w := httptest.NewRecorder()
	end, err := c.server.imports.begin(t.Context(), w, c.id)
	if err != nil {
		t.Fatal(err)
	}
	ansel.upload("/records", "a.json", "{}", "do", "check").says(http.StatusConflict, "being brought in already")
	endOther, err := c.server.imports.begin(t.Context(), w, c.other)
	if err != nil {
		t.Fatal(err)
	}
	gone, leave := context.WithCancel(t.Context())
	leave()
	if _, err := c.server.imports.begin(gone, w, 999); err == nil {
		t.Error("three imports run at once")
	}
	end()
	third, err := c.server.imports.begin(t.Context(), w, 999) // the one that left kept no turn
	if err != nil {
		t.Fatal(err)
	}
	third()
	endOther()
	ansel.upload("/records", "a.json", "{}", "do", "check").says(http.StatusUnprocessableEntity, "club")
}

func TestANearlyFullDiskIsSaid(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	left := uint64(leastDisk - 1)
	c.server.cfg.StateDir = t.TempDir()
	c.server.freeDisk = func(string) (uint64, error) { return left, nil }
	ansel, brida, stranger := c.as("Ansel"), c.as("Brida"), c.stranger()
	ansel.get("/").says(http.StatusOK, "nearly full: 255 MB are left")
	brida.get("/").says(http.StatusOK).hides("nearly full")
	ready := stranger.get("/readyz")
	if ready.status != http.StatusServiceUnavailable || !strings.Contains(ready.body, "255 MB left, 256 MB are needed") {
		t.Errorf("ready: %d %s", ready.status, ready.body)
	}
	if m := stranger.get("/metrics"); !strings.Contains(m.body, "\npryday_disk_low 1\n") || !strings.Contains(m.body, "\npryday_disk_free_bytes 2.68435455e+08\n") {
		t.Errorf("the metrics do not say it: %s", m.body)
	}
	left = leastDisk
	ansel.get("/").says(http.StatusOK).hides("nearly full")
	if got := stranger.get("/readyz"); got.status != http.StatusOK {
		t.Errorf("ready: %d %s", got.status, got.body)
	}
	c.server.freeDisk = backup.FreeDisk
	if free, _ := c.server.diskLeft(); free == 0 {
		t.Error("the disk has no room at all")
	}
}

// A statement that never ends ends.
func TestStatementsHaveAnEnd(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	var limit string
	err := c.store.InClub(t.Context(), c.id, func(*store.Tx) error {
		return c.store.Pool().QueryRow(t.Context(), `SHOW statement_timeout`).Scan(&limit)
	})
	if err != nil || limit != "1min" {
		t.Errorf("statements may take %s (%v)", limit, err)
	}
}
