package season

import (
	"bytes"
	"context"
	"encoding/base64"
	"io"
	"maps"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	netmail "net/mail"
	"net/textproto"
	"regexp"
	"slices"
	"strings"
	"sync"

	"pryday/notify"
	"pryday/notify/smtp"
	"pryday/scheduler"
)

// postbox takes what the daemon sends.
type postbox struct {
	mu  sync.Mutex
	new []*smtp.Letter
}

func (b *postbox) Send(_ context.Context, l *smtp.Letter) smtp.Outcome {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.new = append(b.new, l)
	return smtp.Outcome{Verdict: smtp.Delivered, Reply: "250 taken"}
}

func (b *postbox) Close() error { return nil }

func (b *postbox) empty() []*smtp.Letter {
	b.mu.Lock()
	defer b.mu.Unlock()
	out := b.new
	b.new = nil
	return out
}

// letter is a mail as its reader sees it.
type letter struct {
	on      scheduler.Date
	id      string // Message-ID without angle brackets and domain
	subject string
	text    string
	asks    []asked
}

// asked is a visit that a mail has buttons about.
type asked struct {
	club   int64
	uid    string
	button map[notify.Deed]string // paths
}

// handOut brings what was sent to the people.
func (w *town) handOut() {
	w.Helper()
	for _, l := range w.post.empty() {
		p := w.people[l.To]
		if p == nil {
			w.Fatalf("a mail to %s", l.To)
		}
		m := w.read(l)
		p.unread = append(p.unread, m)
		p.letters = append(p.letters, m)
	}
	for _, p := range w.people {
		slices.SortFunc(p.unread, func(a, b *letter) int { return strings.Compare(a.subject, b.subject) })
	}
}

var acting = regexp.MustCompile(`/act/([A-Za-z0-9_-]+)`)

// read opens a mail: its subject, its text and the buttons in it.
func (w *town) read(l *smtp.Letter) *letter {
	w.Helper()
	mail, err := netmail.ReadMessage(bytes.NewReader(l.Text))
	if err != nil {
		w.Fatalf("a mail to %s: %v", l.To, err)
	}
	subject, err := new(mime.WordDecoder).DecodeHeader(mail.Header.Get("Subject"))
	if err != nil {
		w.Fatalf("a mail to %s: %v", l.To, err)
	}
	id, _, _ := strings.Cut(strings.Trim(mail.Header.Get("Message-Id"), "<>"), "@")
	m := &letter{on: w.today(), id: id, subject: subject, text: plain(w, textproto.MIMEHeader(mail.Header), mail.Body)}
	for _, found := range acting.FindAllStringSubmatch(m.text, -1) {
		a, err := w.notify.Signer().Verify(found[1], w.clock.Now())
		if err != nil {
			w.Fatalf("%q to %s: %v", subject, l.To, err)
		}
		i := slices.IndexFunc(m.asks, func(x asked) bool { return x.uid == a.VisitUID })
		if i < 0 {
			i = len(m.asks)
			m.asks = append(m.asks, asked{a.Club, a.VisitUID, map[notify.Deed]string{}})
		}
		m.asks[i].button[a.Do] = found[0]
	}
	return m
}

// plain finds the text of a mail or of a part of it; empty where there is none.
func plain(w *town, h textproto.MIMEHeader, body io.Reader) string {
	w.Helper()
	kind, params, err := mime.ParseMediaType(h.Get("Content-Type"))
	if err != nil {
		w.Fatal(err)
	}
	if !strings.HasPrefix(kind, "multipart/") {
		if kind != "text/plain" {
			return ""
		}
		switch strings.ToLower(h.Get("Content-Transfer-Encoding")) {
		case "quoted-printable":
			body = quotedprintable.NewReader(body)
		case "base64":
			body = base64.NewDecoder(base64.StdEncoding, body)
		}
		b, err := io.ReadAll(body)
		if err != nil {
			w.Fatal(err)
		}
		return string(b)
	}
	parts := multipart.NewReader(body, params["boundary"])
	for {
		part, err := parts.NextRawPart()
		if err == io.EOF {
			return ""
		}
		if err != nil {
			w.Fatal(err)
		}
		if s := plain(w, part.Header, part); s != "" {
			return s
		}
	}
}

// addresses lists everybody's, in order.
func (w *town) addresses() []string { return slices.Sorted(maps.Keys(w.people)) }
