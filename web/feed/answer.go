package feed

import (
	"bytes"
	"net/http"
	"strconv"
	"strings"
	"time"
)

// Headers that every answer shares. Nothing writes into them.
var (
	noIndex        = []string{"noindex, nofollow"}
	noSniff        = []string{"nosniff"}
	noReferrer     = []string{"no-referrer"}
	privateNoCache = []string{"private, no-cache"}
	calendarType   = []string{"text/calendar; charset=utf-8"}
	vary           = []string{"Accept-Encoding"}
	gzipped        = []string{"gzip"}
)

// answer sends the calendar, or 304 to who has it already, and returns the
// status. The two usual requests, a plain GET and one with the entity tag of
// what is here, are answered at once; other conditions and ranges are judged
// by the standard library (RFC 9110, 13 and 14).
func (e *entry) answer(w http.ResponseWriter, r *http.Request) int {
	c, header := &e.plain, w.Header()
	zip := asksForGzip(r.Header["Accept-Encoding"])
	if zip {
		c = &e.gz
	}
	header["Cache-Control"] = privateNoCache
	header["Etag"] = c.etag
	header["Vary"] = vary
	special := isSpecial(r)
	if tags := r.Header["If-None-Match"]; !special && len(tags) == 1 && tags[0] == c.etag[0] {
		w.WriteHeader(http.StatusNotModified)
		return http.StatusNotModified
	}
	if zip {
		header["Content-Encoding"] = gzipped
	}
	header["Content-Type"] = calendarType
	header["Content-Disposition"] = e.inline
	header["Content-Length"] = c.length
	header["X-Robots-Tag"] = noIndex
	header["X-Content-Type-Options"] = noSniff
	header["Referrer-Policy"] = noReferrer
	lastModified := e.changedAt
	if !e.isBare() && lastModified.After(time.Now()) { // never later than the answer's Date (RFC 9110, 8.8.2.1); what is bare sends none
		lastModified = time.Time{}
	}
	if !special && r.Header["If-None-Match"] == nil && r.Header["If-Modified-Since"] == nil {
		if !lastModified.IsZero() {
			header["Last-Modified"] = e.modified
		}
		_, _ = w.Write(c.bytes) // who hung up needs no answer
		return http.StatusOK
	}
	kept := &statusKeeper{w, http.StatusOK}
	http.ServeContent(kept, r, "", lastModified, bytes.NewReader(c.bytes))
	return kept.status
}

// isSpecial reports whether a request asks for less than the whole, or under
// conditions that calendar programs do not use.
func isSpecial(r *http.Request) bool {
	if r.Method != http.MethodGet {
		return true
	}
	for _, name := range [...]string{"If-Match", "If-Unmodified-Since", "Range"} {
		if _, ok := r.Header[name]; ok {
			return true
		}
	}
	return false
}

// asksForGzip reads Accept-Encoding (RFC 9110, 12.5.3). A bare "*" is no
// wish for gzip, and gzip;q=0 is one against it.
func asksForGzip(lines []string) bool {
	for _, line := range lines {
		for item := range strings.SplitSeq(line, ",") {
			coding, parameters, _ := strings.Cut(item, ";")
			if coding = strings.TrimSpace(coding); !strings.EqualFold(coding, "gzip") && !strings.EqualFold(coding, "x-gzip") {
				continue
			}
			name, q, found := strings.Cut(parameters, "=")
			if !found || !strings.EqualFold(strings.TrimSpace(name), "q") {
				return true
			}
			weight, err := strconv.ParseFloat(strings.TrimSpace(q), 64)
			return err == nil && weight > 0
		}
	}
	return false
}

// statusKeeper remembers the status that went out.
type statusKeeper struct {
	http.ResponseWriter
	status int
}

func (w *statusKeeper) WriteHeader(status int) {
	w.status = status
	if status == http.StatusPreconditionFailed { // has no body
		w.Header().Del("Content-Length")
		w.Header().Del("Content-Encoding")
	}
	w.ResponseWriter.WriteHeader(status)
}

func (w *statusKeeper) Unwrap() http.ResponseWriter { return w.ResponseWriter }

// refuse answers without a calendar.
func (f *Feeds) refuse(w http.ResponseWriter, status int, why string, retryAfter time.Duration) {
	f.count.add(status)
	header := w.Header()
	header["Cache-Control"] = privateNoCache
	header["X-Robots-Tag"] = noIndex
	header["X-Content-Type-Options"] = noSniff
	header["Referrer-Policy"] = noReferrer
	if retryAfter > 0 {
		header.Set("Retry-After", strconv.Itoa(int((retryAfter+time.Second-1)/time.Second)))
	}
	http.Error(w, why, status)
}
