package notify_test

import (
	"crypto/tls"
	"crypto/x509"
	"net"
	"strings"
	"testing"
	"time"

	"pryday/notify"
)

// TestTLS: mail goes over checked TLS or, towards strangers, not at all.
func TestTLS(t *testing.T) {
	good, goodPool := certificate(t, time.Now().Add(time.Hour), "127.0.0.1")
	otherName, otherPool := certificate(t, time.Now().Add(time.Hour), "mx.elsewhere.test")
	old, oldPool := certificate(t, time.Now().Add(-time.Hour), "127.0.0.1")
	tests := []struct {
		name    string
		server  *tls.Config // nil: no STARTTLS offered
		pool    *x509.CertPool
		use     notify.TLSUse
		arrives bool
	}{
		{"required and offered", good, goodPool, notify.TLSRequired, true},
		{"required, not offered", nil, nil, notify.TLSRequired, false},
		{"required, unknown authority", good, x509.NewCertPool(), notify.TLSRequired, false},
		{"required, another name", otherName, otherPool, notify.TLSRequired, false},
		{"required, expired", old, oldPool, notify.TLSRequired, false},
		{"opportunistic and offered", good, goodPool, notify.TLSOpportunistic, true},
		{"opportunistic, not offered", nil, nil, notify.TLSOpportunistic, true},
		{"opportunistic, another name", otherName, otherPool, notify.TLSOpportunistic, false},
		{"none, though offered", good, goodPool, notify.TLSNone, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			server := newSink(t)
			if tt.server != nil {
				server = newSink(t, withTLS(tt.server))
			}
			s := sender(t, server.port, func(c *notify.SMTPConfig) { c.TLS, c.RootCAs = tt.use, tt.pool })
			o := s.Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test"))
			got := server.all()
			if tt.arrives {
				wantSecure := tt.server != nil && tt.use != notify.TLSNone
				if o.Verdict != notify.Delivered || len(got) != 1 || got[0].secure != wantSecure {
					t.Errorf("got %+v; arrived: %v", o, got)
				}
				return
			}
			if o.Verdict != notify.Later || !o.Settings || len(got) != 0 {
				t.Errorf("got %+v; %d messages arrived", o, len(got))
			}
		})
	}
}

func TestTLSFromTheStart(t *testing.T) {
	config, pool := certificate(t, time.Now().Add(time.Hour), "127.0.0.1")
	server := newSink(t, withSignIn("kay", "pa ss"))
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	go server.server.Serve(tls.NewListener(l, config))
	port := l.Addr().(*net.TCPAddr).Port
	for _, password := range []string{"pa ss", "wrong"} {
		s := sender(t, port, func(c *notify.SMTPConfig) {
			c.TLS, c.RootCAs, c.User, c.Password = notify.TLSImplicit, pool, "kay", password
		})
		o := s.Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test"))
		if password == "wrong" {
			if o.Verdict != notify.Later || !o.Settings {
				t.Errorf("wrong password: %+v", o)
			}
		} else if got := server.all(); o.Verdict != notify.Delivered || len(got) != 1 || !got[0].secure {
			t.Errorf("got %+v; arrived: %v", o, got)
		}
		if strings.Contains(o.Reply, password) {
			t.Errorf("the reply holds the password: %q", o.Reply)
		}
	}
	if n := len(server.all()); n != 1 {
		t.Errorf("%d messages arrived, want 1", n)
	}
}

func TestSignIn(t *testing.T) {
	config, pool := certificate(t, time.Now().Add(time.Hour), "127.0.0.1")
	tests := []struct {
		name, user, password string
		verdict              notify.Verdict
	}{
		{"right", "kay", "pa ss", notify.Delivered},
		{"wrong password", "kay", "pass", notify.Later},
		{"none given", "", "", notify.Later},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			server := newSink(t, withTLS(config), withSignIn("kay", "pa ss"))
			s := sender(t, server.port, func(c *notify.SMTPConfig) {
				c.TLS, c.RootCAs, c.User, c.Password = notify.TLSRequired, pool, tt.user, tt.password
			})
			o := s.Send(t.Context(), letter(t, "one@club.test", "kay@keepers.test"))
			if o.Verdict != tt.verdict || o.Settings != (tt.verdict == notify.Later) {
				t.Errorf("got %+v", o)
			}
		})
	}
}

// TestSMTPUTF8 asks for it only where an address needs it (RFC 6531, 3.1).
func TestSMTPUTF8(t *testing.T) {
	server := newSink(t)
	s := sender(t, server.port, nil)
	for i, to := range []string{"kay@keepers.test", "käthe@keepers.test"} {
		if o := s.Send(t.Context(), letter(t, "one@club.test", to)); o.Verdict != notify.Delivered {
			t.Fatalf("%s: %+v", to, o)
		}
		if got := server.all()[i].to; got != to || server.utf8[i] != (i == 1) {
			t.Errorf("%s arrived as %s, SMTPUTF8 %t", to, got, server.utf8[i])
		}
	}
}
