package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/mail"
	"net/url"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"pryday/notify"
	"pryday/notify/smtp"
	"pryday/notify/smtp/smtptest"
	"pryday/scheduler"
	"pryday/store/localpg"
	"pryday/store/storetest"
	"pryday/testdata/testrun"
)

// wholeRun is a daemon that did a bit of everything.
type wholeRun struct {
	t      *testing.T
	daemon *daemon
	server *smtptest.FaultyServer
	log    *lines
	client *http.Client
	at     string
	keys   []string // what opens something, and must stand in no log
}

// startWholeRun starts a daemon that logs in a form.
func startWholeRun(t *testing.T, form string) *wholeRun {
	t.Helper()
	w := &wholeRun{t: t, log: &lines{found: make(chan string, 1), want: regexp.MustCompile(`(never)`)}}
	w.server = smtptest.NewFaultyServer(t, "rcpt", "550 5.1.1 <ewan@example.org>: user unknown", 1)
	sending, err := smtp.ParseURL(fmt.Sprintf("smtp://127.0.0.1:%d?tls=none", w.server.Port()))
	if err != nil {
		t.Fatal(err)
	}
	url := storetest.New(t)
	w.daemon, err = startDaemon(t.Context(), daemonSettings{
		database: database{Addresses: localpg.Addresses{Owner: url, Serving: storetest.Serving(url)}, apart: true}, stateDir: t.TempDir(), listen: "127.0.0.1:0", clock: notify.RealClock{}, build: thisBuild(),
		requests: requestFlags{FeedPerMinute: 60}, backup: backupFlags{Daily: "daily", Dir: t.TempDir()},
		mail: mailSettings{smtp: &sending, from: mail.Address{Address: "bees@example.org"}},
	}, (&terminal{err: w.log}).loggerIn(form, slog.LevelDebug))
	if err != nil {
		t.Fatalf("%v\n%s", err, w.log.text())
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- w.daemon.serve(ctx) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Errorf("%v\n%s", err, w.log.text())
		}
	})
	w.at = w.daemon.public.String()
	jar, _ := cookiejar.New(nil)
	w.client = &http.Client{Jar: jar}
	return w
}

// post sends a form and returns the page that comes of it.
func (w *wholeRun) post(address string, form url.Values) string {
	w.t.Helper()
	res, err := w.client.PostForm(address, form)
	return w.read(res, err)
}

func (w *wholeRun) get(address string) string {
	w.t.Helper()
	res, err := w.client.Get(address)
	return w.read(res, err)
}

func (w *wholeRun) read(res *http.Response, err error) string {
	w.t.Helper()
	if err != nil {
		w.t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusOK {
		w.t.Fatalf("%s: %s %v\n%s", res.Request.URL.Path, res.Status, err, body)
	}
	return string(body)
}

// upload brings records in from a file of more than what memory takes of a form.
func (w *wholeRun) upload(records string) string {
	w.t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	part, err := form.CreateFormFile("file", "records.json")
	if err != nil {
		w.t.Fatal(err)
	}
	io.WriteString(part, records+strings.Repeat(" ", 2<<20))
	form.WriteField("do", "import")
	form.Close()
	res, err := w.client.Post(w.at+"/records", form.FormDataContentType(), &body)
	return w.read(res, err)
}

var keyInMail = regexp.MustCompile(`/(?:sign-in|act|unsubscribe|new-address|old-address|calendar)/([A-Za-z0-9._~-]{16,})`)

// mailed is the newest mail, once there are so many, as it reads.
func (w *wholeRun) mailed(atLeast int) string {
	w.t.Helper()
	testrun.Until(w.t, "a mail is taken", func() bool { return len(w.server.Messages()) >= atLeast })
	all := w.server.Messages()
	text := strings.ReplaceAll(strings.ReplaceAll(all[len(all)-1], "=\r\n", ""), "=3D", "=")
	for _, m := range keyInMail.FindAllStringSubmatch(text, -1) {
		w.keys = append(w.keys, m[1])
	}
	return text
}

// live signs in, reads a calendar, has a mail sent and one refused, brings
// records in, and goes wrong in two ways.
func (w *wholeRun) live() {
	w.t.Helper()
	setup, err := w.daemon.pages.SetupAddress(w.t.Context())
	if err != nil {
		w.t.Fatal(err)
	}
	w.keys = append(w.keys, filepath.Base(setup))
	w.post(setup, url.Values{
		"club": {"Larch Lane Bees"}, "your_name": {"Gwen Ashdown"}, "email": {"gwen@example.org"}, "name": {"Orchard"},
		"latitude": {"44.1"}, "longitude": {"-79.9"}, "elevation_m": {"310"}, "timezone": {"America/Toronto"},
		"hives": {"2"}, "boxes": {"2"}, "lowest": {"deep"}, "upper": {"medium"},
	})
	w.post(w.at+"/members/invite", url.Values{"name": {"Ewan Hollis"}, "email": {"ewan@example.org"}, "role": {"keeper"}})
	testrun.Until(w.t, "a mail was refused", func() bool { return strings.Contains(w.log.text(), "user unknown") })
	made := w.post(w.at+"/links", url.Values{"label": {"phone"}, "kind": {"club"}})
	address := regexp.MustCompile(`https?://[^"\s<]+/calendar/([a-z2-7]+)/[^"\s<]*\.ics`).FindStringSubmatch(made)
	if address == nil {
		w.t.Fatal("no calendar address on the page")
	}
	w.keys = append(w.keys, address[1])
	if !strings.Contains(w.get(address[0]), "BEGIN:VCALENDAR") {
		w.t.Error("the address has no calendar")
	}
	w.upload(string(nearClub(scheduler.DateOf(time.Now()))))
	w.noteCookies()
	w.post(w.at+"/sign-out", nil)
	w.post(w.at+"/sign-in", url.Values{"email": {"gwen@example.org"}})
	letter := w.mailed(1)
	signIn := regexp.MustCompile(`http\S+/sign-in/[a-z2-7]+`).FindString(letter)
	w.post(signIn, nil)
	w.noteCookies()
	if !strings.Contains(w.get(w.at+"/"), "Orchard") {
		w.t.Error("signed in and sees no apiary")
	}
	for _, broken := range []http.ResponseWriter{
		&brokenWriter{ResponseRecorder: httptest.NewRecorder(), err: errors.New("no way to " + address[0] + " of gwen@example.org")},
		&brokenWriter{ResponseRecorder: httptest.NewRecorder()},
	} {
		w.daemon.pages.ServeHTTP(broken, httptest.NewRequestWithContext(w.t.Context(), http.MethodGet, "/guide", nil))
	}
	testrun.Until(w.t, "what was owed at the start is decided", func() bool { return !w.daemon.notify.Counts().LastTick.IsZero() })
}

func (w *wholeRun) noteCookies() {
	w.t.Helper()
	u, _ := url.Parse(w.at)
	for _, c := range w.client.Jar.Cookies(u) {
		if c.Value != "" && c.Name != "pryday-speaks" { // which says a language
			w.keys = append(w.keys, c.Value)
		}
	}
}

// brokenWriter goes wrong when a page is written: with an error, or without one
// altogether.
type brokenWriter struct {
	*httptest.ResponseRecorder
	err  error
	once bool
}

func (w *brokenWriter) Write(b []byte) (int, error) {
	if w.err == nil && !w.once {
		w.once = true
		panic("gwen@example.org at /sign-in/abcdefgh234567abcdefgh")
	}
	return len(b), w.err
}

// TestAWholeRunLogsNoSecrets lives through a bit of everything, and finds
// nobody's address in the log and nothing that opens anything: common practice,
// no source. What the same run measures is what rules and dashboard ask for.
func TestAWholeRunLogsNoSecrets(t *testing.T) {
	for _, form := range []string{"json", "text"} {
		t.Run(form, func(t *testing.T) {
			w := startWholeRun(t, form)
			w.live()
			w.check(w.log.text())
			for _, happened := range []string{"refused", "delivered", "page failed", "request panicked", "answered", "(address)"} {
				if !strings.Contains(w.log.text(), happened) {
					t.Errorf("%q is not in the log, which this run should have:\n%s", happened, w.log.text())
				}
			}
			if form == "text" {
				return
			}
			for line := range strings.Lines(w.log.text()) {
				var entry struct{ Time, Level, Msg string }
				if err := json.Unmarshal([]byte(line), &entry); err != nil || entry.Msg == "" || entry.Level == "" || entry.Time == "" {
					t.Errorf("no entry: %s", line)
				}
			}
			testrun.Until(t, "a backup is made", func() bool { return !w.daemon.backups.State().Newest.MadeAt.IsZero() })
			rulesNameMetrics(t, w.get(w.at+"/metrics"))
		})
	}
}

var anyAddress = regexp.MustCompile(`[\w.+-]+@[\w.-]+`)

func (w *wholeRun) check(text string) {
	w.t.Helper()
	for _, found := range anyAddress.FindAllString(text, -1) {
		w.t.Errorf("the log has the address %s", found)
	}
	slices.Sort(w.keys)
	w.keys = slices.Compact(w.keys)
	for _, key := range w.keys {
		if len(key) < 16 {
			w.t.Errorf("%q is no key", key)
		}
		if at := strings.Index(text, key); at >= 0 {
			w.t.Errorf("the log has what opens something: %q", text[max(0, at-80):at+len(key)])
		}
	}
	if len(w.keys) < 5 {
		w.t.Errorf("only %d keys were looked for", len(w.keys))
	}
	ours := w.daemon.listener.Addr().String()
	for line := range strings.Lines(text) {
		if strings.Contains(strings.ReplaceAll(line, ours, ""), "127.0.0.1") {
			w.t.Errorf("the log says who asked: %s", line)
		}
	}
}
