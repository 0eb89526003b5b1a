package web

import (
	"bytes"
	"errors"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"
)

// TestOutageCarriesAllOrNothing: half of what was typed, sent again, would pass for all
// of it. Beside files a form may be longer than a page carries.
func TestOutageCarriesAllOrNothing(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name string
		note int // bytes
		more int // further fields
		long bool
	}{
		{"a short form", 100, 3, false},
		{"as long as is carried", maxForm - 100, 1, false},
		{"too long", maxForm + 1, 1, true},
		{"too many fields", 10, mostCarried, true},
	} {
		var body bytes.Buffer
		form := multipart.NewWriter(&body)
		form.WriteField("note", strings.Repeat("a", tt.note))
		for range tt.more {
			form.WriteField("box", "7")
		}
		form.Close()
		r := httptest.NewRequest(http.MethodPost, "/record", &body)
		r.Header.Set("Content-Type", form.FormDataContentType())
		v := outageOf(httptest.NewRecorder(), r)
		want := tt.more + 1
		if tt.long {
			want = 0
		}
		if v.Long != tt.long || len(v.Fields) != want || v.Files {
			t.Errorf("%s: too long %t, %d fields, files %t; want %t and %d", tt.name, v.Long, len(v.Fields), v.Files, tt.long, want)
		}
	}
}

// TestOutageLeadsBackHere: an address that begins with two strokes is another site's.
func TestOutageLeadsBackHere(t *testing.T) {
	t.Parallel()
	for path, want := range map[string]string{"/visit/1": "/visit/1?on=2", "//else.example/visit": "/else.example/visit?on=2", "///x": "/x?on=2", "": "/?on=2"} {
		if got := hereAgain(&url.URL{Path: path, RawQuery: "on=2"}); got != want {
			t.Errorf("%q leads to %q, want %q", path, got, want)
		}
	}
}

// TestOutageIsLoggedOnceInAWhile: with how many more requests met it.
func TestOutageIsLoggedOnceInAWhile(t *testing.T) {
	t.Parallel()
	var log bytes.Buffer
	var o outages
	note := func() { o.note(slog.New(slog.NewTextHandler(&log, nil)), "GET /", errors.New("gone")) }
	note()
	note()
	note()
	if n := strings.Count(log.String(), "\n"); n != 1 || !strings.Contains(log.String(), "others=0") {
		t.Errorf("three at once make %d lines: %s", n, log.String())
	}
	log.Reset()
	o.said = time.Now().Add(-11 * time.Second)
	note()
	if n := strings.Count(log.String(), "\n"); n != 1 || !strings.Contains(log.String(), "others=2") {
		t.Errorf("later, %d lines: %s", n, log.String())
	}
}

// TestOutageAnswersOnce: of the page that another one took the place of nothing follows.
func TestOutageAnswersOnce(t *testing.T) {
	t.Parallel()
	for _, replaced := range []bool{true, false} {
		to := httptest.NewRecorder()
		w := &sessionWriter{ResponseWriter: to, begun: true, replaced: replaced}
		n, err := w.Write([]byte("page"))
		if want := map[bool]string{true: "", false: "page"}[replaced]; n != 4 || err != nil || to.Body.String() != want {
			t.Errorf("replaced %t: %d bytes of %q, %v", replaced, n, to.Body.String(), err)
		}
	}
}

// TestOutageIsNoMistakeOfOurs, and a mistake of ours is no outage: nobody comes back in
// ten seconds for it.
func TestOutageIsNoMistakeOfOurs(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	c.server.cfg.Logger = slog.New(slog.DiscardHandler) // else an error in the log fails the test
	r := httptest.NewRequest(http.MethodGet, "/", nil)
	for err, want := range map[error]int{errLost: http.StatusServiceUnavailable, errors.New("a slip"): http.StatusInternalServerError} {
		to := httptest.NewRecorder()
		c.server.fail(to, r, err)
		if to.Code != want || (to.Header().Get("Retry-After") != "") != (want == http.StatusServiceUnavailable) {
			t.Errorf("%v: %d, come back after %q seconds", err, to.Code, to.Header().Get("Retry-After"))
		}
	}
}

// TestOutageOrNotSigningOutEndsTheCookie: the browser is told to forget it.
func TestOutageOrNotSigningOutEndsTheCookie(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	b := c.as("Brida")
	got := b.post("/sign-out", nil).says(http.StatusSeeOther)
	ended := false
	for _, cookie := range (&http.Response{Header: got.header}).Cookies() {
		if cookie.Name == c.server.sessions.Cookie.Name {
			ended = cookie.Value == "" && (cookie.MaxAge < 0 || !cookie.Expires.IsZero() && cookie.Expires.Before(time.Now()))
		}
	}
	if !ended {
		t.Errorf("signing out sets %q", got.header.Values("Set-Cookie"))
	}
}
