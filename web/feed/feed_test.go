package feed

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"pryday/scheduler"
	"pryday/store"
)

// What each request gets; the section of RFC 9110 stands beside it.
func TestAnswers(t *testing.T) {
	b := newFixture(t, records())
	_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	plain := b.get(t, token)
	zipped := b.get(t, token, "Accept-Encoding", "gzip")
	tag, zipTag, modified := plain.header.Get("ETag"), zipped.header.Get("ETag"), plain.header.Get("Last-Modified")
	if tag == "" || zipTag == "" || tag == zipTag || modified == "" {
		t.Fatalf("tags %q and %q, modified %q", tag, zipTag, modified)
	}
	early := time.Now().Add(-time.Hour).UTC().Format(http.TimeFormat)
	whole := len(plain.body)
	cases := []struct {
		section, name, method string
		headers               []string
		status, length        int // of the body
		encoding              string
	}{
		{"9.3.1", "a plain GET", "GET", nil, 200, whole, ""},
		{"9.3.2", "HEAD", "HEAD", nil, 200, 0, ""},
		{"13.1.2", "the tag of what is here", "GET", []string{"If-None-Match", tag}, 304, 0, ""},
		{"13.1.2", "one tag of several", "GET", []string{"If-None-Match", `"x", W/` + tag}, 304, 0, ""},
		{"13.1.2", "any tag", "GET", []string{"If-None-Match", "*"}, 304, 0, ""},
		{"13.1.2", "another tag", "GET", []string{"If-None-Match", `"x"`}, 200, whole, ""},
		{"13.1.2", "HEAD with the tag", "HEAD", []string{"If-None-Match", tag}, 304, 0, ""},
		{"8.8.3.3", "the tag of the other coding", "GET", []string{"If-None-Match", zipTag}, 200, whole, ""},
		{"8.8.3.3", "that tag with that coding", "GET", []string{"If-None-Match", zipTag, "Accept-Encoding", "gzip"}, 304, 0, ""},
		{"13.1.3", "not modified since", "GET", []string{"If-Modified-Since", modified}, 304, 0, ""},
		{"13.1.3", "modified since", "GET", []string{"If-Modified-Since", early}, 200, whole, ""},
		{"13.2.2", "a tag stands above a time", "GET", []string{"If-None-Match", `"x"`, "If-Modified-Since", modified}, 200, whole, ""},
		{"13.1.1", "if it is another", "GET", []string{"If-Match", `"x"`}, 412, -1, ""},
		{"14.2", "a part", "GET", []string{"Range", "bytes=0-14"}, 206, 15, ""},
		{"12.5.3", "gzip by weight", "GET", []string{"Accept-Encoding", "br;q=1, GZIP;q=0.5"}, 200, len(zipped.body), "gzip"},
		{"12.5.3", "no gzip", "GET", []string{"Accept-Encoding", "gzip;q=0"}, 200, whole, ""},
		{"12.5.3", "anything", "GET", []string{"Accept-Encoding", "*"}, 200, whole, ""},
		{"12.5.3", "another coding", "GET", []string{"Accept-Encoding", "br, deflate"}, 200, whole, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			a := b.ask(t, c.method, token, c.headers...)
			if a.status != c.status || c.length >= 0 && len(a.body) != c.length || a.header.Get("Content-Encoding") != c.encoding {
				t.Errorf("RFC 9110, %s: got %d, %d bytes of %q; want %d, %d of %q", c.section, a.status, len(a.body), a.header.Get("Content-Encoding"), c.status, c.length, c.encoding)
			}
			if a.header.Get("Vary") != "Accept-Encoding" || a.header.Get("Cache-Control") != "private, no-cache" || len(a.header["Set-Cookie"]) > 0 {
				t.Errorf("headers %v", a.header)
			}
		})
	}
	t.Run("headers of a calendar", func(t *testing.T) {
		for name, want := range map[string]string{
			"Content-Type": "text/calendar; charset=utf-8", "Content-Disposition": `inline; filename="low-weir-bees.ics"`,
			"X-Robots-Tag": "noindex, nofollow", "X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer",
			"Content-Length": fmt.Sprint(whole),
		} {
			for _, method := range []string{"GET", "HEAD"} {
				if got := b.ask(t, method, token).header.Get(name); got != want {
					t.Errorf("%s: %s is %q, want %q", method, name, got, want)
				}
			}
		}
	})
	t.Run("both codings say the same", func(t *testing.T) {
		r, err := gzip.NewReader(strings.NewReader(zipped.body))
		if err != nil {
			t.Fatal(err)
		}
		if got, err := io.ReadAll(r); err != nil || string(got) != plain.body {
			t.Errorf("unzipped to %d bytes, %v; want %d", len(got), err, whole)
		}
	})
}

func TestAskingTooOften(t *testing.T) {
	b := newFixture(t, records())
	_, token := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	_, other := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	b.feeds.limits.links.StopAllGoroutines()
	b.feeds.limits = newLimits(6)
	b.calendar(t, token) // renders; the bucket is asked from now on
	late := 0
	for i := range 10 {
		if i == 3 {
			b.forget() // a link that fell out of memory is still counted
		}
		a := b.get(t, token)
		if a.status == http.StatusTooManyRequests {
			late++
			if a.header.Get("Retry-After") != "10" {
				t.Errorf("Retry-After %q", a.header.Get("Retry-After"))
			}
		}
	}
	if late != 4 {
		t.Errorf("%d of 10 requests were too many, want 4", late)
	}
	if a := b.get(t, other); a.status != http.StatusOK {
		t.Errorf("another link is held up: %d", a.status)
	}
	t.Run("guessing", func(t *testing.T) {
		seen := map[int]int{}
		for i := range guessesAtOnce + 100 {
			seen[b.get(t, fmt.Sprintf("guess%d", i)).status]++
		}
		if seen[http.StatusNotFound] < guessesAtOnce || seen[http.StatusTooManyRequests] == 0 {
			t.Errorf("got %v", seen)
		}
		if a := b.get(t, other); a.status != http.StatusOK {
			t.Errorf("guessing holds up those who know: %d", a.status)
		}
	})
}

// A calendar changes at midnight where its reader lives.
func TestDayIsTheReadersDay(t *testing.T) {
	b := newFixture(t, records())
	var other int64
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		members, err := tx.Members(ctx)
		other = members[1].ID
		return err
	})
	_, london := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	b.member = other
	_, auckland := b.link(t, store.ClubLink, 0, store.LinkOptions{})
	day := func(token string) scheduler.Date {
		b.calendar(t, token)
		for _, e := range bedEntries(b.feeds) {
			if e.zone.String() == map[string]string{london: "Europe/London", auckland: "Pacific/Auckland"}[token] {
				return e.day
			}
		}
		return 0
	}
	// 12:30 UTC on 3 May is 13:30 in London and 00:30 on the 4th in Auckland.
	b.clock.set(time.Date(2027, time.May, 3, 11, 30, 0, 0, time.UTC))
	if l, a := day(london), day(auckland); l != scheduler.NewDate(2027, 5, 3) || a != l {
		t.Errorf("before midnight in Auckland: %s and %s", l, a)
	}
	b.clock.set(time.Date(2027, time.May, 3, 12, 30, 0, 0, time.UTC))
	if l, a := day(london), day(auckland); l != scheduler.NewDate(2027, 5, 3) || a != l+1 {
		t.Errorf("after midnight in Auckland: %s and %s", l, a)
	}
	b.clock.set(time.Date(2027, time.May, 3, 23, 30, 0, 0, time.UTC)) // 00:30 in London, in summer
	if l, a := day(london), day(auckland); l != scheduler.NewDate(2027, 5, 4) || a != l {
		t.Errorf("after midnight in London: %s and %s", l, a)
	}
}

func bedEntries(f *Feeds) (out []*entry) {
	for e := range f.cache.Values() {
		out = append(out, e)
	}
	return out
}

// The time in the header tells two calendars apart even when both came within
// one second.
func TestLastModifiedMovesWithTheBytes(t *testing.T) {
	now := time.Date(2027, 5, 3, 9, 0, 0, 100, time.UTC)
	first, same, changed, later := &entry{}, &entry{}, &entry{}, &entry{}
	first.seal([]byte("a"), nil, now)
	same.seal([]byte("a"), first, now.Add(time.Hour))
	changed.seal([]byte("b"), same, now.Add(300*time.Millisecond))
	later.seal([]byte("c"), changed, now.Add(time.Hour))
	if !same.changedAt.Equal(first.changedAt) || !bytes.Equal(same.gz.bytes, first.gz.bytes) {
		t.Error("the same bytes got another time")
	}
	if !changed.changedAt.After(same.changedAt) {
		t.Error("other bytes got the same time")
	}
	if !later.changedAt.Equal(now.Add(time.Hour).Truncate(time.Second)) {
		t.Errorf("an hour later: %s", later.changedAt)
	}
}
