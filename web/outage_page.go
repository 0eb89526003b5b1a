package web

import (
	"log/slog"
	"maps"
	"mime"
	"mime/multipart"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"
)

// retryAfter is when to come back, in seconds from now, so that no clock matters.
const retryAfter = "10"

// How long a request may work. A change may bring files, and is given nearly as
// long as its answer may take.
const (
	readingTime  = 20 * time.Second
	changingTime = 50 * time.Second
)

func timeOf(r *http.Request) time.Duration {
	if r.Method != http.MethodGet || strings.HasPrefix(r.URL.Path, "/records/") { // which are written out whole
		return changingTime
	}
	return readingTime
}

// outageView is the page that says that the database is away. It takes nothing
// from there.
type outageView struct {
	Here   string      // what was asked for
	Sends  bool        // that was a form
	Fields [][2]string // what was typed, to be sent again
	Files  bool        // and files, which no page can carry
	Long   bool        // too much of it to be carried
}

// mostCarried bounds the fields of a form that is carried, which maxForm bounds
// in bytes.
const mostCarried = 4000

// away answers whoever asks while the database is away: 503, and what was typed
// stays on the page.
func (s *Server) away(w http.ResponseWriter, r *http.Request, err error) {
	s.outages.note(s.cfg.Logger, r.Pattern, err)
	w.Header().Set("Retry-After", retryAfter)
	say := lastSpoken(r)
	var failed error
	if wantsProblem(r) {
		failed = tellProblem(w, http.StatusServiceUnavailable, say.Say("page.outage.title"), say.Say("page.outage.text"))
	} else {
		failed = s.show(w, r, http.StatusServiceUnavailable, "outage", view{Title: say.Say("page.outage.title"), Page: outageOf(w, r), say: say})
	}
	if failed != nil {
		s.cfg.Logger.Warn("answer failed", "route", r.Pattern, "err", failed)
	}
}

func outageOf(w http.ResponseWriter, r *http.Request) outageView {
	v := outageView{Here: hereAgain(r.URL), Sends: r.Method != http.MethodGet && r.Method != http.MethodHead}
	if !v.Sends {
		return v
	}
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err == nil && kind == "multipart/form-data" {
		// Whatever it is read for, its files are not kept.
		if r.MultipartForm == nil {
			_, err = readUpTo(w, r, maxPhotoForm, func() error { return r.ParseMultipartForm(1 << 20) })
		}
		v.Long = err != nil
		if r.MultipartForm != nil {
			for _, files := range r.MultipartForm.File {
				v.Files = v.Files || slices.ContainsFunc(files, func(f *multipart.FileHeader) bool { return f.Size > 0 })
			}
		}
	} else if r.PostForm == nil {
		_, err := readForm(w, r)
		v.Long = err != nil
	}
	size := 0
	for _, name := range slices.Sorted(maps.Keys(r.PostForm)) {
		for _, value := range r.PostForm[name] {
			if size += len(name) + len(value); isSecret(name) || !isText(name+value) {
				continue
			}
			v.Fields = append(v.Fields, [2]string{name, value})
		}
	}
	if v.Long = v.Long || size > maxForm || len(v.Fields) > mostCarried; v.Long {
		v.Fields = nil
	}
	return v
}

// isSecret tells fields that no page repeats. No form of ours has one today.
func isSecret(name string) bool {
	return slices.ContainsFunc([]string{"pass", "secret", "credential", "key"}, func(part string) bool { return strings.Contains(strings.ToLower(name), part) })
}

// hereAgain is the address of a request, on this service alone.
func hereAgain(u *url.URL) string {
	return (&url.URL{Path: "/" + strings.TrimLeft(u.Path, "/"), RawQuery: u.RawQuery}).String()
}

// outages keeps an outage from filling the log.
type outages struct {
	mu     sync.Mutex
	said   time.Time
	unsaid int
}

// note says that a request could not be answered in full, with how many were not said
// since the last.
func (o *outages) note(log *slog.Logger, route string, err error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if time.Since(o.said) < 10*time.Second {
		o.unsaid++
		return
	}
	log.Warn("the database is away", "route", route, "err", err, "others", o.unsaid)
	o.said, o.unsaid = time.Now(), 0
}

// savedView says that something was saved of which the next page cannot tell.
type savedView struct {
	Notice *notice
	To     string
}

// savedOnly answers a change that is saved, in place of the page that was to tell
// of it.
func (s *Server) savedOnly(w http.ResponseWriter, r *http.Request, to string) error {
	say := lastSpoken(r)
	return s.show(w, r, http.StatusOK, "saved", view{Title: say.Say("page.saved.title"), Page: savedView{s.notice(r), to}, say: say})
}
