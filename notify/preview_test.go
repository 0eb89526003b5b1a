package notify_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"pryday/notify"
	"pryday/notify/smtp"
	"pryday/notify/smtp/smtptest"
)

// TestPreview shows what a tick would send, and changes nothing by that.
func TestPreview(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	to := &nowhere{}
	n := b.service(t, to)
	shown, err := n.Preview(t.Context(), b.club, b.clock.civil)
	if err != nil {
		t.Fatal(err)
	}
	if len(b.messages(t)) != 0 || len(to.all()) != 0 {
		t.Error("the preview recorded or sent something")
	}
	tick(t, n)
	owed := b.messages(t)
	if len(shown) == 0 || len(shown) != len(owed) {
		t.Fatalf("%d shown, %d owed by the tick", len(shown), len(owed))
	}
	for i, p := range shown {
		if _, err := n.Attempt(t.Context(), b.club, owed[i].ID); err != nil {
			t.Fatal(err)
		}
		sent := to.all()[i]
		if p.Letter.To != sent.To || p.Kind != owed[i].Kind || p.Mail.Subject == "" {
			t.Errorf("shown to %s, sent to %s", p.Letter.To, sent.To)
		}
		_, shownBody := parts(t, p.Letter.Text)
		_, sentBody := parts(t, sent.Text)
		if s, o := mailedAddress.ReplaceAllString(shownBody["text/plain"], "-"), mailedAddress.ReplaceAllString(sentBody["text/plain"], "-"); s != o {
			t.Errorf("shown:\n%s\nsent:\n%s", s, o)
		}
		for _, a := range mailedAddress.FindAllString(shownBody["text/plain"], -1) {
			for _, path := range []string{notify.ActionPath, notify.UnsubscribePath} {
				if _, token, ok := strings.Cut(a, path); ok {
					if _, err := n.Signer().Verify(token, time.Now()); !errors.Is(err, notify.ErrForged) {
						t.Errorf("an address in a preview works: %s: %v", a, err)
					}
				}
			}
		}
	}
}

func TestTryMail(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	server := smtptest.NewSink(t)
	n := b.service(t, senderTo(t, server.Port, nil))
	if o, err := n.TryMail(t.Context(), "kay@keepers.test", ""); err != nil || o.Verdict != smtp.Delivered {
		t.Errorf("%+v, %v", o, err)
	}
	if got := server.All(); len(got) != 1 || got[0].To != "kay@keepers.test" {
		t.Errorf("arrived: %v", got)
	}
	if _, err := n.TryMail(t.Context(), "kay", ""); err == nil || !strings.Contains(err.Error(), `"kay"`) {
		t.Errorf("a bad address: %v", err)
	}
	refusing := smtptest.NewFaultyServer(t, "rcpt", "550 5.1.1 no such keeper", 0)
	if o, err := b.service(t, senderTo(t, refusing.Port(), nil)).TryMail(t.Context(), "kay@keepers.test", ""); err != nil || o.Reply != "550 5.1.1 no such keeper" {
		t.Errorf("%+v, %v", o, err)
	}
}
