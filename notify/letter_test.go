package notify_test

import (
	"strings"
	"testing"
	"time"

	gomail "github.com/wneessen/go-mail"

	"pryday/notify"
	"pryday/notify/mail"
	"pryday/notify/smtp"
)

// letterTo makes a letter as the senders get them.
func letterTo(t testing.TB, id, to string) *smtp.Letter {
	t.Helper()
	l, err := notify.NewLetter(&mail.Message{Msg: message(t, id, to)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func message(t testing.TB, id, to string) *gomail.Msg {
	t.Helper()
	m := gomail.NewMsg(gomail.WithNoDefaultUserAgent())
	if err := m.From("Hollow Lane Bees <pryday@club.test>"); err != nil {
		t.Fatal(err)
	}
	if err := m.To(to); err != nil {
		t.Fatal(err)
	}
	m.Subject("Two boxes to open on Saturday")
	m.SetMessageIDWithValue(id)
	m.SetDateWithValue(time.Date(2027, 5, 1, 7, 0, 0, 0, time.UTC))
	m.SetBodyString(gomail.TypeTextPlain, "Larch: box R14.\n.A line that begins with a dot.\n"+strings.Repeat("Bring a spare lid.\n", 400))
	return m
}

func senderTo(t testing.TB, port int, change func(*smtp.Config)) *smtp.Sender {
	t.Helper()
	c := smtp.Config{Host: "127.0.0.1", Port: port, TLS: smtp.TLSNone, Helo: "pryday.test", Timeout: 5 * time.Second}
	if change != nil {
		change(&c)
	}
	s, err := smtp.New(c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func TestOneRecipient(t *testing.T) {
	m := message(t, "one@club.test", "kay@keepers.test")
	if err := m.AddCc("lou@keepers.test"); err != nil {
		t.Fatal(err)
	}
	if l, err := notify.NewLetter(&mail.Message{Msg: m}, nil); err == nil || !strings.Contains(err.Error(), "2 recipients") {
		t.Errorf("two recipients: %+v, %v", l, err)
	}
}
