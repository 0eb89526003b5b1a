package main

import (
	"context"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"pryday/store/storetest"
)

// TestServePrintsWhereToBegin starts the daemon on an empty database, begins
// at the address that it prints, and finds a later start silent.
func TestServePrintsWhereToBegin(t *testing.T) {
	database := storetest.New(t)
	printed := serveOnce(t, database, func(address string) {
		form := url.Values{
			"club": {"Larch Lane Bees"}, "your_name": {"Gwen Ashdown"}, "email": {"gwen@example.org"}, "name": {"Orchard"},
			"latitude": {"44.1"}, "longitude": {"-79.9"}, "elevation_m": {"310"}, "timezone": {"America/Toronto"},
			"hives": {"2"}, "boxes": {"2"}, "lowest": {"deep"}, "upper": {"medium"},
		}
		res, err := (&http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}).PostForm(address, form)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		if res.StatusCode != http.StatusSeeOther {
			t.Fatalf("POST %s: %s", address, res.Status)
		}
	})
	if !strings.Contains(printed, "Keep it to yourself") {
		t.Errorf("printed: %s", printed)
	}
	plan := mustRun(t, "plan", "--database-url", database)
	if !strings.Contains(plan, "Orchard") {
		t.Errorf("no visit was planned: %s", plan)
	}
	if printed := serveOnce(t, database, nil); strings.Contains(printed, "/setup/") {
		t.Errorf("the way in is printed again: %s", printed)
	}
}

// serveOnce runs the daemon until it serves, and then until do returns; do
// gets the set-up address, and nil does not wait for one.
func serveOnce(t *testing.T, database string, do func(address string)) string {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	out := &lines{found: make(chan string, 1), want: regexp.MustCompile(`(http://[0-9.:]+/setup/[a-z2-7]+)\n`)}
	errs := &lines{found: make(chan string, 1), want: regexp.MustCompile(`address=(http://[0-9.:]+)`)}
	done := make(chan int, 1)
	go func() {
		done <- run(ctx, []string{"serve", "--listen", "127.0.0.1:0", "--state-dir", t.TempDir(), "--database-url", database},
			&terminal{in: strings.NewReader(""), out: io.Writer(out), err: errs, now: leapDay})
	}()
	select {
	case <-errs.found:
	case status := <-done:
		t.Fatalf("serve ended with status %d\n%s", status, errs.text())
	case <-time.After(2 * time.Minute):
		t.Fatalf("serve did not come up\n%s", errs.text())
	}
	if do != nil {
		select {
		case address := <-out.found:
			do(address)
		default:
			t.Errorf("no set-up address was printed: %s", out.text())
		}
	}
	cancel()
	if status := <-done; status != 0 {
		t.Errorf("serve ended with status %d\n%s", status, errs.text())
	}
	return out.text()
}
