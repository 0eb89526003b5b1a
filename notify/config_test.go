package notify_test

import (
	netmail "net/mail"
	"net/url"
	"strings"
	"testing"

	"pryday/notify"
)

func TestConfig(t *testing.T) {
	t.Parallel()
	b := newFixture(t)
	good := func() notify.Config {
		return notify.Config{Store: b.store, Sender: &nowhere{}, PublicURL: &url.URL{Scheme: "https", Host: "bees.club.test"}, From: netmail.Address{Address: "reminders@club.test"}}
	}
	tests := []struct {
		name   string
		change func(*notify.Config)
		wrong  string
	}{
		{"as it should be", func(*notify.Config) {}, ""},
		{"no store", func(c *notify.Config) { c.Store = nil }, "store"},
		{"no sender", func(c *notify.Config) { c.Sender = nil }, "sender"},
		{"no public address", func(c *notify.Config) { c.PublicURL = nil }, "public address"},
		{"a public address without a host", func(c *notify.Config) { c.PublicURL = &url.URL{Path: "/x"} }, "public address"},
		{"no sender's address", func(c *notify.Config) { c.From.Address = "" }, "reminders@example.org"},
		{"a sender's address without a domain", func(c *notify.Config) { c.From.Address = "reminders@" }, "reminders@example.org"},
		{"a sender's address with a line break", func(c *notify.Config) { c.From.Address = "a@b.test\r\nBcc: c@d.test" }, "reminders@example.org"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := good()
			tt.change(&c)
			_, err := notify.New(t.Context(), c)
			if (err == nil) != (tt.wrong == "") || err != nil && !strings.Contains(err.Error(), tt.wrong) {
				t.Errorf("error %v, want %q in it", err, tt.wrong)
			}
		})
	}
}
