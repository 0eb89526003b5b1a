package feed

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"strconv"
	"strings"
	"time"

	"pryday/scheduler"
)

// entry is the calendar of one link as it was rendered once. It never changes.
type entry struct {
	club, link int64
	zone       *time.Location // decides which day it is
	day        scheduler.Date // that the calendar was rendered for
	version    int64          // of the club's feeds, read with the rows
	epoch      int64          // of the ear, before the rows were read
	gone       bool           // the link is withdrawn: there are no bytes
	changedAt  time.Time      // when these bytes were first rendered, to the second
	modified   []string       // the same, as a header
	plain, gz  content
}

// content is one form of a calendar with the headers that go with it.
type content struct {
	bytes        []byte
	etag, length []string
}

// Headers that every answer shares. Nothing writes into them.
var (
	noIndex        = []string{"noindex, nofollow"}
	noSniff        = []string{"nosniff"}
	noReferrer     = []string{"no-referrer"}
	privateNoCache = []string{"private, no-cache"}
	calendarType   = []string{"text/calendar; charset=utf-8"}
	inline         = []string{`inline; filename="pryday.ics"`}
	vary           = []string{"Accept-Encoding"}
	gzipped        = []string{"gzip"}
)

// seal gives e its bytes and the time since when it has had them: that of the
// entry before it when they are the same.
func (e *entry) seal(body []byte, before *entry, now time.Time) {
	e.plain = newContent(body)
	e.changedAt = now.Truncate(time.Second)
	if before != nil && !before.gone && before.plain.etag != nil {
		switch {
		case before.plain.etag[0] == e.plain.etag[0]:
			e.changedAt, e.gz = before.changedAt, before.gz
		case !e.changedAt.After(before.changedAt): // twice in one second, which is all that the header can tell
			e.changedAt = before.changedAt.Add(time.Second)
		}
	}
	e.modified = []string{e.changedAt.UTC().Format(http.TimeFormat)}
	if e.gz.bytes == nil {
		e.gz = newContent(compress(body))
	}
}

// newContent names bytes by their hash: 128 bits of SHA-256.
func newContent(b []byte) content {
	sum := sha256.Sum256(b)
	return content{bytes: b, etag: []string{`"` + hex.EncodeToString(sum[:16]) + `"`}, length: []string{strconv.Itoa(len(b))}}
}

func compress(b []byte) []byte {
	var out bytes.Buffer
	w, err := gzip.NewWriterLevel(&out, gzip.BestSpeed)
	if err == nil {
		_, err = w.Write(b)
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		panic(err) // a buffer takes everything
	}
	return out.Bytes()
}

// weight is the memory that an entry holds, in bytes.
func (e *entry) weight() uint32 { return uint32(len(e.plain.bytes) + len(e.gz.bytes) + 1024) }

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
	header["Content-Disposition"] = inline
	header["Content-Length"] = c.length
	header["X-Robots-Tag"] = noIndex
	header["X-Content-Type-Options"] = noSniff
	header["Referrer-Policy"] = noReferrer
	lastModified := e.changedAt
	if lastModified.After(time.Now()) { // never later than the answer's Date (RFC 9110, 8.8.2.1)
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
