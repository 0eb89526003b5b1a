package feed

import (
	"net/http"
	"strconv"
	"time"

	"pryday/scheduler"
)

// entry is the calendar of one link as it was rendered once, or only what names that
// rendering. It never changes.
type entry struct {
	club, link int64
	zone       *time.Location // decides which day it is
	day        scheduler.Date // that the calendar was rendered for
	version    int64          // of the club's feeds, read with the rows
	epoch      int64          // of the listener, before the rows were read
	gone       bool           // the link is withdrawn: there are no bytes
	changedAt  time.Time      // when these bytes were first rendered, to the second
	modified   []string       // the same, as a header
	inline     []string       // Content-Disposition: shown, and saved under the calendar's name
	plain, gz  content
	kept       *kept  // what it is made anew from; nil where it is made whole each time
	pieces     pieces // of gz
}

// content is one form of a calendar with the headers that go with it.
type content struct {
	bytes        []byte
	etag, length []string
}

// seal gives e its bytes and the time since when it has had them: that of the
// entry before it when they are the same.
func (e *entry) seal(body []byte, before *entry, now time.Time) {
	var older pieces
	if before != nil {
		older = before.pieces
	}
	p := pack(body, older)
	e.plain, e.gz, e.pieces = newContent(body, p.tag), newContent(p.bytes, p.tag+"-gz"), p.pieces
	e.changedAt = now.Truncate(time.Second)
	if before != nil && !before.gone && before.plain.etag != nil {
		switch {
		case before.plain.etag[0] == e.plain.etag[0]:
			e.changedAt = before.changedAt
		case !e.changedAt.After(before.changedAt): // twice in one second, which is all that the header can tell
			e.changedAt = before.changedAt.Add(time.Second)
		}
	}
	e.modified = []string{e.changedAt.UTC().Format(http.TimeFormat)}
}

// saveAs names the file that a browser makes of the calendar.
func (e *entry) saveAs(name string) { e.inline = []string{`inline; filename="` + name + `.ics"`} }

func newContent(b []byte, tag string) content {
	return content{bytes: b, etag: []string{`"` + tag + `"`}, length: []string{strconv.Itoa(len(b))}}
}

// bare is an entry without its bytes: it says whether who has a calendar has this one.
func (e *entry) bare() *entry {
	b := *e
	b.plain.bytes, b.gz.bytes, b.kept, b.pieces = nil, nil, nil, nil
	return &b
}

func (e *entry) isBare() bool { return !e.gone && e.plain.bytes == nil }

// suffices reports whether an entry holds what answers a request. A bare one answers
// 304 or does not suffice, and the same whenever it is asked.
func (e *entry) suffices(r *http.Request) bool {
	return !e.isBare() || e.answer(nowhere{http.Header{}}, r) == http.StatusNotModified
}

// nowhere takes an answer that nobody gets.
type nowhere struct{ header http.Header }

func (n nowhere) Header() http.Header         { return n.header }
func (n nowhere) Write(b []byte) (int, error) { return len(b), nil }
func (n nowhere) WriteHeader(int)             {}

// weight is the memory that an entry holds, in bytes.
func (e *entry) weight() uint32 {
	return uint32(len(e.plain.bytes) + len(e.gz.bytes) + 768 + 96*len(e.pieces) + e.kept.size())
}
