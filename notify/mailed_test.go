package notify_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	netmail "net/mail"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"pryday/notify"
	"pryday/notify/smtp/smtptest"
	"pryday/store"
	"pryday/testdata/testrun"
)

// parts reads a mail with the standard library, which did not write it.
func parts(t testing.TB, text []byte) (netmail.Header, map[string]string) {
	t.Helper()
	m, err := netmail.ReadMessage(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	readParts(t, m.Header.Get("Content-Type"), "", m.Body, out)
	return m.Header, out
}

// readParts collects the texts of a part and of those within it, by kind.
func readParts(t testing.TB, contentType, encoding string, r io.Reader, out map[string]string) {
	t.Helper()
	kind, params, err := mime.ParseMediaType(contentType)
	if err != nil {
		t.Fatalf("content type %q: %v", contentType, err)
	}
	if strings.HasPrefix(kind, "multipart/") {
		for parts := multipart.NewReader(r, params["boundary"]); ; {
			p, err := parts.NextRawPart()
			if err == io.EOF {
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			readParts(t, p.Header.Get("Content-Type"), p.Header.Get("Content-Transfer-Encoding"), p, out)
		}
	}
	switch strings.ToLower(encoding) {
	case "quoted-printable":
		r = quotedprintable.NewReader(r)
	case "base64":
		r = base64.NewDecoder(base64.StdEncoding, r)
	}
	body, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	out[kind] = string(body)
}

var mailedAddress = regexp.MustCompile(`https://bees\.club\.test/[^\s"<>]+`)

// TestReminderArrives follows one reminder from the tick into a real SMTP
// server: who it is for, what it says, and what its addresses are good for.
func TestReminderArrives(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	server := smtptest.NewSink(t)
	n := b.service(t, senderTo(t, server.Port, nil))
	start(t, n)
	testrun.Until(t, "all is sent", func() bool { return len(server.All()) >= 2 && b.allSent(t) })
	var mine *smtptest.Received
	for _, r := range server.All() {
		if r.To == "kay@keepers.test" {
			mine = &r
		}
	}
	if mine == nil {
		t.Fatal("Kay has no mail")
	}
	if mine.From != "reminders@club.test" {
		t.Errorf("sent by %s", mine.From)
	}
	header, body := parts(t, mine.Text)
	for name, want := range map[string]string{
		"From":                  `"Hollow Lane Bees" <reminders@club.test>`,
		"To":                    `"Kay Orrin" <kay@keepers.test>`,
		"Auto-Submitted":        "auto-generated",             // RFC 3834
		"List-Unsubscribe-Post": "List-Unsubscribe=One-Click", // RFC 8058
	} {
		if got := header.Get(name); got != want {
			t.Errorf("%s: %s, want %s", name, got, want)
		}
	}
	if id := header.Get("List-Id"); !strings.Contains(id, "<club-"+itoa(b.club)+".reminders.club.test>") { // RFC 2919
		t.Errorf("List-Id: %s", id)
	}
	if when, err := header.Date(); err != nil || time.Since(when) > time.Minute || time.Since(when) < -time.Second {
		t.Errorf("Date: %s, %v; want the real time it was owed", when, err)
	}
	text, html := body["text/plain"], body["text/html"]
	for _, must := range []string{"Orchard", "Larch", "R14", "R15", "Alder", "R16"} {
		if !strings.Contains(text, must) || !strings.Contains(html, must) {
			t.Errorf("%q is not in both parts", must)
		}
	}
	without := func(part string) string { return mailedAddress.ReplaceAllString(part, "") } // whose random letters may spell anything
	for _, never := range []string{"4711", "52.1", "Quarry", "Rowan"} {                     // gate code, place, another keeper's
		if strings.Contains(without(text), never) || strings.Contains(without(html), never) {
			t.Errorf("%q is in the mail", never)
		}
	}
	if strings.Contains(text, notify.VisitPath) {
		t.Error("an address asks to sign in to see the visit")
	}
	deeds := map[notify.Deed]string{}
	for _, a := range mailedAddress.FindAllString(text, -1) {
		u, err := url.Parse(a)
		if err != nil {
			t.Fatal(err)
		}
		for _, path := range []string{notify.ActionPath, notify.UnsubscribePath} {
			if token, ok := strings.CutPrefix(u.Path, path); ok {
				act, err := n.Signer().Verify(token, time.Now())
				if err != nil || act.Club != b.club || act.Member != b.member {
					t.Errorf("%s: %+v, %v", a, act, err)
				}
				deeds[act.Do] = act.VisitUID
			}
		}
	}
	for _, d := range []notify.Deed{notify.LookDeed, notify.RecordDeed, notify.OpenedDeed, notify.RainedOffDeed, notify.CantGoDeed} {
		if deeds[d] == "" {
			t.Errorf("no address for %q in the text: %v", d, deeds)
		}
	}
	one, ok := strings.CutPrefix(strings.Trim(header.Get("List-Unsubscribe"), "<>"), "https://bees.club.test"+notify.UnsubscribePath)
	act, err := n.Signer().Verify(one, time.Now())
	if !ok || err != nil || act.Do != notify.UnsubscribeDeed || act.Member != b.member {
		t.Errorf("List-Unsubscribe: %s: %+v, %v", header.Get("List-Unsubscribe"), act, err)
	}
}

// TestADayLate: a reminder that could not be delivered on its day says what is
// true on the day on which it goes out.
func TestADayLate(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	n := b.service(t, to)
	visit := b.visit(t)
	b.inClub(t, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.MoveVisit(ctx, visit.ID, visit.Sequence, b.today()+1, b.today())
		return err
	})
	owed := b.oweReminders(t, 2)
	var subjects []string
	for i := range 2 {
		if _, err := n.Attempt(t.Context(), b.club, owed[i].ID); err != nil {
			t.Fatal(err)
		}
		if len(to.all()) != i+1 {
			t.Fatalf("%s", b.message(t, owed[i].ID).Reply)
		}
		header, _ := parts(t, to.all()[i].Text)
		subjects = append(subjects, header.Get("Subject"))
		b.clock.civil = b.clock.civil.AddDate(0, 0, 1)
	}
	if strings.Contains(subjects[0], "Today") || !strings.Contains(subjects[1], "Today") {
		t.Errorf("subjects %q", subjects)
	}
}

// TestPlainHTTP: one-click unsubscribing is for https alone (RFC 8058, 3.1).
func TestPlainHTTP(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	n, err := notify.New(t.Context(), notify.Config{
		Store: b.store, Sender: to, Clock: b.clock, PublicURL: &url.URL{Scheme: "http", Host: "127.0.0.1:8080"}, From: netmail.Address{Address: "reminders@club.test"},
	})
	if err != nil {
		t.Fatal(err)
	}
	owed := b.oweReminders(t, 1)
	if _, err := n.Attempt(t.Context(), b.club, owed[0].ID); err != nil {
		t.Fatal(err)
	}
	if len(to.all()) != 1 {
		t.Fatalf("%s", b.message(t, owed[0].ID).Reply)
	}
	header, body := parts(t, to.all()[0].Text)
	address := "http://127.0.0.1:8080" + notify.UnsubscribePath
	if !strings.HasPrefix(header.Get("List-Unsubscribe"), "<"+address) || header.Get("List-Unsubscribe-Post") != "" || !strings.Contains(body["text/plain"], address) {
		t.Errorf("List-Unsubscribe %q, List-Unsubscribe-Post %q", header.Get("List-Unsubscribe"), header.Get("List-Unsubscribe-Post"))
	}
}
