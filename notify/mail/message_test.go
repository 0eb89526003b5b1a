package mail

import (
	"bytes"
	"errors"
	"io"
	netmail "net/mail"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-message"
	_ "github.com/emersion/go-message/charset"
	gomessage "github.com/emersion/go-message/mail"
)

var sent = time.Date(2027, 5, 1, 7, 0, 3, 0, time.FixedZone("", 3600))

func envelope() Envelope {
	return Envelope{
		From:      netmail.Address{Name: "Tarn Valley Hive Circle", Address: "hives@club.example"},
		To:        netmail.Address{Name: "Ines Varga-Lund", Address: "ines@member.example"},
		MessageID: "d.1.13.2027-05-01@club.example", Date: sent,
		References: []string{ThreadRoot("v51", "club.example")},
		ListID:     "reminders.1.club.example", ListName: "Tarn Valley Hive Circle",
		UnsubscribeURL: "https://hives.example/u?s=u&k=1",
	}
}

// write builds a message and returns its bytes, each line checked.
func write(t *testing.T, m *Mail, e Envelope) []byte {
	t.Helper()
	msg, err := Build(m, e)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if _, err := msg.WriteTo(&b); err != nil {
		t.Fatal(err)
	}
	for line := range strings.SplitSeq(b.String(), "\r\n") {
		if len(line) > 998 || strings.ContainsAny(line, "\r\n") { // RFC 5322, 2.1.1 and 2.3
			t.Errorf("line of %d octets: %.120q", len(line), line)
		}
		for i := range len(line) {
			if line[i] > '~' {
				t.Errorf("octet %#x in %q", line[i], line)
			}
		}
	}
	return b.Bytes()
}

// parts reads a message with another library: its headers and its parts.
func parts(t *testing.T, raw []byte) (gomessage.Header, map[string]string) {
	t.Helper()
	r, err := gomessage.CreateReader(bytes.NewReader(raw))
	if err != nil {
		t.Fatalf("%v in\n%s", err, raw)
	}
	out := map[string]string{}
	for {
		p, err := r.NextPart()
		if errors.Is(err, io.EOF) {
			return r.Header, out
		}
		if err != nil {
			t.Fatal(err)
		}
		kind, _, _ := strings.Cut(p.Header.Get("Content-Type"), ";")
		body, err := io.ReadAll(p.Body)
		if err != nil {
			t.Fatal(err)
		}
		out[kind] = strings.ReplaceAll(string(body), "\r\n", "\n")
	}
}

func TestMessageRows(t *testing.T) {
	m, err := Compose(reminderOf(2, "coming"))
	if err != nil {
		t.Fatal(err)
	}
	raw := write(t, m, envelope())
	header, bodies := parts(t, raw)
	rows := []struct{ source, name, want string }{
		{"RFC 5322, 3.6.1", "Date", "Sat, 01 May 2027 07:00:03 +0100"},
		{"RFC 5322, 3.6.2", "From", `"Tarn Valley Hive Circle" <hives@club.example>`},
		{"RFC 5322, 3.6.3", "To", `"Ines Varga-Lund" <ines@member.example>`},
		{"RFC 5322, 3.6.4", "Message-Id", "<d.1.13.2027-05-01@club.example>"},
		{"RFC 5322, 3.6.4", "References", "<" + ThreadRoot("v51", "club.example") + ">"},
		{"RFC 5322, 3.6.4", "In-Reply-To", "<" + ThreadRoot("v51", "club.example") + ">"},
		{"RFC 5322, 3.6.5", "Subject", m.Subject},
		{"RFC 2045, 4", "Mime-Version", "1.0"},
		{"RFC 2919, 2", "List-Id", `"Tarn Valley Hive Circle" <reminders.1.club.example>`},
		{"RFC 2369, 3.2", "List-Unsubscribe", "<https://hives.example/u?s=u&k=1>"},
		{"RFC 8058, 3.1", "List-Unsubscribe-Post", "List-Unsubscribe=One-Click"},
		{"RFC 3834, 5", "Auto-Submitted", "auto-generated"},
		{"RFC 3282", "Content-Language", "en"},
	}
	for _, r := range rows {
		if got := header.Values(r.name); len(got) != 1 || got[0] != r.want {
			t.Errorf("%s (%s) is %q, want %q", r.name, r.source, got, r.want)
		}
	}
	for _, never := range []string{"X-Mailer", "User-Agent", "Bcc", "Return-Path", "Precedence", "Disposition-Notification-To"} {
		if header.Has(never) {
			t.Errorf("there is a %s", never)
		}
	}
	kind, params, err := header.ContentType()
	if err != nil || kind != "multipart/alternative" || params["boundary"] == "" {
		t.Errorf("content type %q %v, %v", kind, params, err)
	}
	if bodies["text/plain"] != m.Text || bodies["text/html"] != m.HTML || len(bodies) != 2 {
		t.Errorf("the parts do not read back: %q", bodies)
	}
	// RFC 2046, 5.1.4: the best alternative comes last.
	if bytes.Index(raw, []byte("text/plain")) > bytes.Index(raw, []byte("text/html")) {
		t.Error("the HTML stands before the text")
	}
	if again := write(t, m, envelope()); !bytes.Equal(raw, again) {
		t.Error("a second attempt has other bytes")
	}
}

// A sign-in mail is to one person: it belongs to no list and no thread.
func TestMessageToOne(t *testing.T) {
	m, err := ComposeSignIn(SignIn{Club: "C", URL: "https://hives.example/in", Minutes: 15})
	if err != nil {
		t.Fatal(err)
	}
	e := envelope()
	e.References, e.ListID, e.UnsubscribeURL = nil, "", ""
	header, _ := parts(t, write(t, m, e))
	for _, never := range []string{"List-Id", "List-Unsubscribe", "List-Unsubscribe-Post", "References", "In-Reply-To"} {
		if header.Has(never) {
			t.Errorf("there is a %s", never)
		}
	}
}

func TestMessageAddresses(t *testing.T) {
	m := &Mail{Subject: "Über Bienen, 蜂 und " + strings.Repeat("Propolis ", 20), Text: "t", HTML: "<p>t</p>"}
	e := envelope()
	e.From = netmail.Address{Name: "Bienenverein „Süd“, e. V.", Address: "post@bücher.example"}
	e.To = netmail.Address{Name: "שלום", Address: "keeper+bees@ドメイン.example"}
	e.ReplyTo = &netmail.Address{Name: "Maren", Address: "maren@club.example"}
	e.ListID, e.ListName = "liste.bücher.example", "Süd, „Liste“"
	e.Calendar = []byte("BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n")
	header, bodies := parts(t, write(t, m, e))
	from, err := header.AddressList("From")
	if err != nil || len(from) != 1 || from[0].Address != "post@xn--bcher-kva.example" || from[0].Name != e.From.Name {
		t.Errorf("From is %v, %v", from, err)
	}
	to, err := header.AddressList("To")
	if err != nil || len(to) != 1 || to[0].Address != "keeper+bees@xn--eckwd4c7c.example" || to[0].Name != e.To.Name {
		t.Errorf("To is %v, %v", to, err)
	}
	if subject, err := header.Subject(); err != nil || subject != strings.TrimSpace(m.Subject) {
		t.Errorf("Subject is %q, %v", subject, err)
	}
	if id, err := header.Text("List-Id"); err != nil || id != "Süd, „Liste“ <liste.xn--bcher-kva.example>" {
		t.Errorf("List-Id is %q, %v", id, err)
	}
	if text := write(t, m, e); !bytes.Contains(text, []byte("method=PUBLISH")) { // RFC 6047, 2.4
		t.Errorf("the calendar's method does not stand in its type:\n%s", text)
	}
	if got := bodies["text/calendar"]; got != "BEGIN:VCALENDAR\nEND:VCALENDAR\n" {
		t.Errorf("the calendar reads back as %q", got)
	}
}

func TestMessageRefuses(t *testing.T) {
	m := &Mail{Subject: "s", Text: "t", HTML: "h"}
	cases := []struct {
		name, want string
		change     func(*Envelope)
	}{
		{"no @", "it has no @", func(e *Envelope) { e.To.Address = "ines" }},
		{"line break in the address", "without spaces", func(e *Envelope) { e.To.Address = "a\r\nBcc: x@y.example@b.example" }},
		{"second address", "not an address", func(e *Envelope) { e.To.Address = "a@b.example,c@d.example" }},
		{"domain with a space", "not a domain", func(e *Envelope) { e.To.Address = "a@b example" }},
		{"local part in another script", "only ASCII", func(e *Envelope) { e.To.Address = "ü@b.example" }},
		{"sender empty", "from", func(e *Envelope) { e.From.Address = "" }},
		{"no message-id", "message-id", func(e *Envelope) { e.MessageID = "" }},
		{"message-id with brackets", "message-id", func(e *Envelope) { e.MessageID = "<a@b.example>" }},
		{"message-id with a line break", "message-id", func(e *Envelope) { e.MessageID = "a@b.example\r\nX: y" }},
		{"no date", "date", func(e *Envelope) { e.Date = time.Time{} }},
		{"reference broken", "references", func(e *Envelope) { e.References = []string{"a b"} }},
		{"list-id of one word", "list-id", func(e *Envelope) { e.ListID = "list" }},
		{"list-id with a line break", "list-id", func(e *Envelope) { e.ListID = "a.b\r\nX: y" }},
		{"unsubscribe by mail", "https", func(e *Envelope) { e.UnsubscribeURL = "mailto:leave@a.example" }},
		{"unsubscribe with a bracket", "https", func(e *Envelope) { e.UnsubscribeURL = "https://a.example/>,<mailto:x@y.example" }},
		{"unsubscribe with a line break", "https", func(e *Envelope) { e.UnsubscribeURL = "https://a.example/\r\nX: y" }},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			e := envelope()
			c.change(&e)
			_, err := Build(m, e)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want an error with %q", err, c.want)
			}
		})
	}
}

// headerNames are all headers that a message with everything may have.
var headerNames = map[string]bool{
	"Date": true, "From": true, "To": true, "Subject": true, "Message-Id": true, "Mime-Version": true, "Content-Type": true,
	"Auto-Submitted": true, "Content-Language": true, "References": true, "In-Reply-To": true, "List-Id": true,
	"List-Unsubscribe": true, "List-Unsubscribe-Post": true, "Reply-To": true,
}

var spaces = regexp.MustCompile(`\s+`)

// No text in any field adds a header or a part, and a subject reads back.
func FuzzHeaders(f *testing.F) {
	for _, s := range []string{
		"plain", "a\r\nBcc: evil@example.com", "a\nX-Evil: 1", "=?utf-8?q?spoof?=", "=?utf-8?b?c3Bvb2Y=?= and more =?",
		"🐝 " + strings.Repeat("Küche ", 60), strings.Repeat("x", 400), "\"quoted\" <a@b.example>", "\x00\x01", "\u2028", "a,b;c:d", "\\", "שלום",
	} {
		f.Add(s, s, s, "a@b.example")
		f.Add(s, s, s, s)
	}
	f.Fuzz(func(t *testing.T, subject, name, list, address string) {
		m := &Mail{Subject: subject, Text: name, HTML: "<p>", Language: list}
		e := envelope()
		e.From.Name, e.To.Name, e.ListName, e.To.Address = name, name, list, address
		if _, err := Build(m, e); err != nil {
			if !errors.Is(err, ErrAddress) {
				t.Fatalf("refused for another reason than the address: %v", err)
			}
			e.To.Address = "ines@member.example"
		}
		raw := write(t, m, e)
		entity, err := message.Read(bytes.NewReader(raw))
		if err != nil {
			t.Fatalf("%v in\n%s", err, raw)
		}
		header := gomessage.Header{Header: entity.Header}
		seen := map[string]int{}
		for fields := entity.Header.Fields(); fields.Next(); {
			seen[fields.Key()]++
			if !headerNames[fields.Key()] || seen[fields.Key()] > 1 {
				t.Errorf("header %q, for the %d. time, in\n%s", fields.Key(), seen[fields.Key()], raw)
			}
		}
		want := oneLine(subject)
		if n := []rune(want); len(n) > 200 {
			want = string(n[:199]) + "…"
		}
		if got, err := header.Subject(); err != nil || spaces.ReplaceAllString(got, " ") != spaces.ReplaceAllString(want, " ") {
			t.Errorf("subject %q reads back as %q, %v\n%s", want, got, err, raw)
		}
		to, err := header.AddressList("To")
		if err != nil || len(to) != 1 || !strings.HasPrefix(to[0].Address, strings.SplitN(e.To.Address, "@", 2)[0]) {
			t.Errorf("To reads back as %v, %v\n%s", to, err, raw)
		}
		if _, bodies := parts(t, raw); len(bodies) != 2 {
			t.Errorf("%d parts in\n%s", len(bodies), raw)
		}
	})
}
